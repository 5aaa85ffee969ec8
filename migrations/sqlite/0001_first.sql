-- The first schema. Conventions:
-- * fleet_id leads every key and every index but the named queue and look-up ones; foreign keys carry it along.
-- * A fact (marked "fact") is never updated in place nor deleted: it is withdrawn or superseded. It bears recorded_at,
--   recorded_by (key or person, none for the operator), source, act_id (the act bears the fleet-wide sequence number),
--   origin_id (its name where it came from), supersedes, withdrawn_at.
-- * A quantity is kept as entered (value, unit) and as an exact integer (mm of distance, base unit of the dimension).
-- * A derived row (marked "derived") can be thrown away and computed again to the same bytes.
-- * JSON is TEXT on both engines. The PostgreSQL counterpart bears the same number and name.

CREATE TABLE schema_version (
    version INTEGER NOT NULL PRIMARY KEY,
    readable_from INTEGER NOT NULL
) STRICT;
INSERT INTO schema_version (version, readable_from) VALUES (1, 1);

-- Secrets of this installation: seals cursors and signs links.
CREATE TABLE installation (
    name TEXT NOT NULL PRIMARY KEY,
    secret BLOB NOT NULL
) STRICT;

CREATE TABLE fleet (
    id BLOB NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    sequence INTEGER NOT NULL,
    policy TEXT NOT NULL,
    policy_version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL
) STRICT;

-- Who did what, when and from where. seq is 0 until the act's last statement takes the fleet's next number.
CREATE TABLE act (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    seq INTEGER NOT NULL,
    kind TEXT NOT NULL,
    actor_kind TEXT NOT NULL CHECK (actor_kind IN ('key', 'operator', 'program')),
    key_id BLOB,
    person_id BLOB,
    source TEXT NOT NULL,
    request_id TEXT,
    recorded_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, id)
) STRICT;
CREATE INDEX act_by_seq ON act (fleet_id, seq);

-- Before and after of each changed record, in the same transaction as the change.
CREATE TABLE audit (
    fleet_id BLOB NOT NULL,
    act_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    subject TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    verb TEXT NOT NULL,
    before TEXT,
    after TEXT,
    PRIMARY KEY (fleet_id, act_id, ordinal),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

CREATE TABLE depot (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    name TEXT NOT NULL,
    zone TEXT NOT NULL,
    jurisdiction TEXT NOT NULL CHECK (jurisdiction IN ('us', 'uk', 'eu')),
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, id)
) STRICT;

CREATE TABLE person (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('manager', 'technician', 'driver', 'viewer')),
    depots TEXT NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    removed_at TEXT,
    PRIMARY KEY (fleet_id, id)
) STRICT;

-- The one table of personal details: erasing a person deletes this row, history keeps the bare id.
CREATE TABLE person_details (
    fleet_id BLOB NOT NULL,
    person_id BLOB NOT NULL,
    name TEXT NOT NULL,
    email TEXT,
    language TEXT NOT NULL,
    units TEXT,
    zone TEXT NOT NULL,
    quiet_from TEXT,
    quiet_to TEXT,
    PRIMARY KEY (fleet_id, person_id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
) STRICT;

-- Addresses no letter goes to, as hashes: they outlive the person.
CREATE TABLE suppressed_address (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    address_hash BLOB NOT NULL,
    reason TEXT NOT NULL,
    suppressed_at TEXT NOT NULL,
    released_at TEXT,
    PRIMARY KEY (fleet_id, address_hash)
) STRICT;

CREATE TABLE access_key (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('person', 'device', 'script')),
    person_id BLOB,
    vehicle_id BLOB,
    label TEXT NOT NULL,
    scopes TEXT NOT NULL,
    secret_hash BLOB NOT NULL,
    recorded_at TEXT NOT NULL,
    expires_at TEXT,
    revoked_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
) STRICT;
CREATE UNIQUE INDEX lookup_access_key ON access_key (secret_hash);

CREATE TABLE workshop (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('own_bay', 'dealer', 'independent', 'mobile')),
    lead_days INTEGER NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, id)
) STRICT;

CREATE TABLE vehicle (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    vin TEXT,
    make TEXT NOT NULL,
    model TEXT NOT NULL,
    model_year INTEGER,
    powertrain TEXT NOT NULL CHECK (powertrain IN ('petrol', 'diesel', 'hybrid', 'battery_electric')),
    gross_mass_kg INTEGER,
    tags TEXT NOT NULL,
    in_service_on TEXT,
    in_service_odometer_mm INTEGER NOT NULL,
    history_unknown INTEGER NOT NULL CHECK (history_unknown IN (0, 1)),
    acquired_on TEXT NOT NULL,
    odometer_unit TEXT NOT NULL CHECK (odometer_unit IN ('km', 'mi')),
    placard TEXT NOT NULL,
    retired_on TEXT,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, vin),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: what changes about a vehicle, in force from a day until the next version.
CREATE TABLE vehicle_attributes (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    from_day TEXT NOT NULL,
    depot_id BLOB NOT NULL,
    duty TEXT NOT NULL CHECK (duty IN ('delivery', 'rideshare', 'pool', 'long_distance')),
    severe INTEGER NOT NULL CHECK (severe IN (0, 1)),
    label TEXT NOT NULL,
    plate TEXT,
    parked INTEGER NOT NULL CHECK (parked IN (0, 1)),
    operating_weekdays INTEGER NOT NULL,
    rulebook_id BLOB,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, ordinal),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, depot_id) REFERENCES depot (fleet_id, id),
    FOREIGN KEY (fleet_id, rulebook_id) REFERENCES rulebook (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX vehicle_attributes_by_label ON vehicle_attributes (fleet_id, label);
CREATE INDEX vehicle_attributes_by_plate ON vehicle_attributes (fleet_id, plate);

-- One row a vehicle: what version of its horizon is needed and done, when it wakes, who works on it.
CREATE TABLE vehicle_state (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    needed_version INTEGER NOT NULL,
    done_version INTEGER NOT NULL,
    engine_version TEXT NOT NULL,
    wakes_at TEXT,
    claim_token BLOB,
    claimed_until TEXT,
    PRIMARY KEY (fleet_id, vehicle_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;
CREATE INDEX queue_vehicle_wakes ON vehicle_state (wakes_at);
CREATE INDEX queue_vehicle_behind ON vehicle_state (done_version, needed_version);

-- fact: the one meter log, fed by readings, services and inspections.
CREATE TABLE odometer_reading (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    meter INTEGER NOT NULL,
    quantity TEXT NOT NULL CHECK (quantity IN ('distance', 'hours')),
    value REAL NOT NULL,
    unit TEXT NOT NULL,
    exact INTEGER NOT NULL,
    read_at TEXT NOT NULL,
    sent_at TEXT,
    clock_offset_seconds INTEGER NOT NULL,
    clock_in_doubt INTEGER NOT NULL CHECK (clock_in_doubt IN (0, 1)),
    reading_source TEXT NOT NULL,
    service_id BLOB,
    inspection_id BLOB,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    origin_id TEXT,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX odometer_reading_by_vehicle ON odometer_reading (fleet_id, vehicle_id, read_at, id);

-- fact: what people decided about readings.
CREATE TABLE reading_decision (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    reading_id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('release', 'correct', 'withdraw')),
    value REAL,
    unit TEXT,
    reason TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX reading_decision_by_vehicle ON reading_decision (fleet_id, vehicle_id);

CREATE TABLE rulebook (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    title TEXT NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, id)
) STRICT;

-- fact: one version of a rulebook; an edit adds one and never rewrites the past.
CREATE TABLE rulebook_version (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    rulebook_id BLOB NOT NULL,
    version INTEGER NOT NULL,
    title TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, rulebook_id, version),
    FOREIGN KEY (fleet_id, rulebook_id) REFERENCES rulebook (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: the rules of one version, in the book's order; body is the whole rule as JSON.
CREATE TABLE rule (
    fleet_id BLOB NOT NULL,
    rulebook_id BLOB NOT NULL,
    version INTEGER NOT NULL,
    code TEXT NOT NULL,
    ordinal INTEGER NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, rulebook_id, version, code),
    FOREIGN KEY (fleet_id, rulebook_id, version) REFERENCES rulebook_version (fleet_id, rulebook_id, version)
) STRICT;

-- fact: a vehicle's exception to a rule.
CREATE TABLE rule_override (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    rule_code TEXT NOT NULL,
    every TEXT,
    reason TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX rule_override_by_vehicle ON rule_override (fleet_id, vehicle_id);

-- fact: an answer to the baseline check, one a rule.
CREATE TABLE baseline_answer (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    rule_code TEXT NOT NULL,
    choice TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX baseline_answer_by_vehicle ON baseline_answer (fleet_id, vehicle_id);

-- fact: work done.
CREATE TABLE service_record (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    done_on TEXT NOT NULL,
    odometer_value REAL NOT NULL,
    odometer_unit TEXT NOT NULL,
    odometer_mm INTEGER NOT NULL,
    reading_id BLOB NOT NULL,
    rules TEXT NOT NULL,
    workshop_id BLOB,
    parts TEXT NOT NULL,
    cost_minor INTEGER,
    currency TEXT,
    evidence TEXT,
    note TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    origin_id TEXT,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, workshop_id) REFERENCES workshop (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX service_record_by_vehicle ON service_record (fleet_id, vehicle_id, done_on, id);

-- fact: a document with an expiry.
CREATE TABLE paper (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    kind TEXT NOT NULL,
    reference TEXT,
    issued_on TEXT,
    expires_on TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    origin_id TEXT,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX paper_by_vehicle ON paper (fleet_id, vehicle_id, expires_on, id);

-- fact: the terms of a warranty or lease, as JSON.
CREATE TABLE coverage_window (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('warranty', 'lease')),
    title TEXT NOT NULL,
    terms TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    origin_id TEXT,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX coverage_window_by_vehicle ON coverage_window (fleet_id, vehicle_id);

-- fact: time off the road.
CREATE TABLE stay (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    workshop_id BLOB,
    in_at TEXT NOT NULL,
    out_at TEXT,
    reason TEXT NOT NULL,
    waiting_for TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, workshop_id) REFERENCES workshop (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX stay_by_vehicle ON stay (fleet_id, vehicle_id, in_at);

-- fact: a check sheet, every version kept.
CREATE TABLE check_sheet (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    code TEXT NOT NULL,
    version INTEGER NOT NULL,
    title TEXT NOT NULL,
    points TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, code, version),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- A technician's batch as it came in.
CREATE TABLE inspection_batch (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    device_id TEXT NOT NULL,
    device_seq INTEGER,
    device_sent_at TEXT NOT NULL,
    received_at TEXT NOT NULL,
    clock_offset_seconds INTEGER NOT NULL,
    entries INTEGER NOT NULL,
    raw TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- An entry id is used once in a fleet for ever; its hash tells a replay from a clash.
CREATE TABLE entry (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    content_hash BLOB NOT NULL,
    inspection_id BLOB NOT NULL,
    batch_id BLOB,
    status TEXT NOT NULL CHECK (status IN ('accepted', 'held')),
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- What was refused, kept raw so that nothing measured is lost.
CREATE TABLE rejected_entry (
    fleet_id BLOB NOT NULL,
    batch_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    entry_id TEXT,
    raw TEXT NOT NULL,
    problem TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, act_id, ordinal),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: one check of one vehicle.
CREATE TABLE inspection (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    sheet_code TEXT NOT NULL,
    sheet_version INTEGER NOT NULL,
    performed_at TEXT NOT NULL,
    sent_at TEXT NOT NULL,
    clock_offset_seconds INTEGER NOT NULL,
    clock_corrected INTEGER NOT NULL CHECK (clock_corrected IN (0, 1)),
    clock_in_doubt INTEGER NOT NULL CHECK (clock_in_doubt IN (0, 1)),
    reading_id BLOB,
    note TEXT,
    unknown_members TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    origin_id TEXT,
    supersedes BLOB,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, sheet_code, sheet_version) REFERENCES check_sheet (fleet_id, code, version),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX inspection_by_vehicle ON inspection (fleet_id, vehicle_id, performed_at, id);

-- fact: one measured value at one place; the component is resolved when loading.
CREATE TABLE measurement (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    inspection_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    point TEXT NOT NULL,
    place TEXT NOT NULL,
    zone TEXT NOT NULL,
    value REAL NOT NULL,
    unit TEXT NOT NULL,
    exact INTEGER NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, inspection_id, point, place, zone),
    FOREIGN KEY (fleet_id, inspection_id) REFERENCES inspection (fleet_id, id)
) STRICT;
CREATE INDEX measurement_by_vehicle ON measurement (fleet_id, vehicle_id);

-- fact: something wrong; closing it is a fact of its own.
CREATE TABLE finding (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    inspection_id BLOB,
    code TEXT NOT NULL,
    component TEXT,
    place TEXT NOT NULL,
    weight TEXT NOT NULL CHECK (weight IN ('note', 'attend', 'do_not_drive')),
    note TEXT NOT NULL,
    found_at TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX finding_by_vehicle ON finding (fleet_id, vehicle_id);

CREATE TABLE finding_closure (
    fleet_id BLOB NOT NULL,
    finding_id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('fixed', 'dismissed')),
    reason TEXT NOT NULL,
    service_id BLOB,
    closed_at TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, finding_id),
    FOREIGN KEY (fleet_id, finding_id) REFERENCES finding (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

CREATE TABLE warranty_claim (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    window_id BLOB NOT NULL,
    finding_id BLOB,
    state TEXT NOT NULL,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, window_id) REFERENCES coverage_window (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- A part whose life is followed; it belongs to the fleet and may lie in store.
CREATE TABLE component (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    kind TEXT NOT NULL,
    product TEXT NOT NULL,
    depth_new_value REAL,
    depth_new_unit TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: a component's time in one place; its end is a fact of its own.
CREATE TABLE fitting (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    component_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    place TEXT NOT NULL,
    from_day TEXT NOT NULL,
    from_odometer_mm INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX fitting_by_vehicle ON fitting (fleet_id, vehicle_id);
CREATE INDEX fitting_by_component ON fitting (fleet_id, component_id);

CREATE TABLE fitting_end (
    fleet_id BLOB NOT NULL,
    fitting_id BLOB NOT NULL,
    to_day TEXT NOT NULL,
    to_odometer_mm INTEGER NOT NULL,
    reason TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, fitting_id),
    FOREIGN KEY (fleet_id, fitting_id) REFERENCES fitting (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- Fitted usage of a cohort: append-only.
CREATE TABLE cohort_fit (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    cohort TEXT NOT NULL,
    level TEXT NOT NULL CHECK (level IN ('cohort', 'parent', 'fleet', 'shipped')),
    vehicles INTEGER NOT NULL,
    a REAL NOT NULL,
    p REAL NOT NULL,
    q REAL NOT NULL,
    kappa TEXT,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: which fit a vehicle is judged by from now on; the newest holds.
CREATE TABLE fit_pin (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    fit_id BLOB NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, ordinal),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, fit_id) REFERENCES cohort_fit (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- derived: how each reading was judged.
CREATE TABLE judgement (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    reading_id BLOB NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('counted', 'held', 'withdrawn')),
    odometer_mm INTEGER,
    detail TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, reading_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;

-- derived: what the newest measurements mean.
CREATE TABLE grade (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    point TEXT NOT NULL,
    place TEXT NOT NULL,
    grade TEXT NOT NULL CHECK (grade IN ('good', 'watch', 'attend', 'do_not_drive')),
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, point, place),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;

-- derived: the usage a vehicle's forecasts rest on.
CREATE TABLE usage_outlook (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;

-- derived: one thing that will need doing; moments, never a stage. id is a UUIDv8 of (vehicle, key, cycle).
CREATE TABLE due_item (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    id BLOB NOT NULL,
    kind TEXT NOT NULL,
    depot_id BLOB NOT NULL,
    approaching_at TEXT,
    due_at TEXT,
    overdue_at TEXT,
    do_not_drive_from TEXT,
    sort_at TEXT NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, item_key),
    UNIQUE (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;
CREATE INDEX due_item_by_urgency ON due_item (fleet_id, sort_at, id);

-- derived: where a coverage window leads.
CREATE TABLE window_outlook (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    window_id BLOB NOT NULL,
    depot_id BLOB NOT NULL,
    ending_at TEXT,
    ended_at TEXT,
    early_end TEXT,
    sort_on TEXT NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, window_id),
    FOREIGN KEY (fleet_id, window_id) REFERENCES coverage_window (fleet_id, id)
) STRICT;
CREATE INDEX window_outlook_by_end ON window_outlook (fleet_id, sort_on, window_id);

-- A moment somebody must be told. Waiting rows are derived; once told they are decisions and stay.
CREATE TABLE mark (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    mark TEXT NOT NULL,
    rank INTEGER NOT NULL,
    fires_at TEXT NOT NULL,
    outcome TEXT NOT NULL CHECK (outcome IN ('waiting', 'told', 'folded', 'overtaken', 'skipped')),
    reason TEXT,
    settled_at TEXT,
    PRIMARY KEY (fleet_id, vehicle_id, item_key, cycle, mark),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;

-- A decision to tell one person one thing: unique for ever.
CREATE TABLE notice (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    mark TEXT NOT NULL,
    person_id BLOB NOT NULL,
    urgent INTEGER NOT NULL CHECK (urgent IN (0, 1)),
    state TEXT NOT NULL CHECK (state IN ('waiting', 'gathered', 'told', 'withdrawn', 'list_only')),
    body TEXT NOT NULL,
    letter_id BLOB,
    created_at TEXT NOT NULL,
    not_before TEXT NOT NULL,
    settled_at TEXT,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, vehicle_id, item_key, cycle, mark, person_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
) STRICT;
CREATE INDEX queue_notice ON notice (state, not_before);
CREATE INDEX notice_by_letter ON notice (fleet_id, letter_id);

CREATE TABLE letter (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    person_id BLOB NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    message_id TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'claimed', 'sending', 'sent', 'retry', 'uncertain', 'withdrawn',
        'undeliverable', 'parked')),
    attempts INTEGER NOT NULL,
    next_attempt_at TEXT,
    claim_token BLOB,
    claimed_until TEXT,
    last_reply TEXT,
    created_at TEXT NOT NULL,
    sent_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
) STRICT;
CREATE INDEX queue_letter ON letter (state, next_attempt_at);
CREATE UNIQUE INDEX lookup_message_id ON letter (message_id);

-- The exact bytes, apart from the letter so that they can be erased while the decision stays.
CREATE TABLE letter_body (
    fleet_id BLOB NOT NULL,
    letter_id BLOB NOT NULL,
    address TEXT NOT NULL,
    bytes BLOB NOT NULL,
    PRIMARY KEY (fleet_id, letter_id),
    FOREIGN KEY (fleet_id, letter_id) REFERENCES letter (fleet_id, id)
) STRICT;

CREATE TABLE letter_attempt (
    fleet_id BLOB NOT NULL,
    letter_id BLOB NOT NULL,
    attempt INTEGER NOT NULL,
    started_at TEXT NOT NULL,
    ended_at TEXT,
    outcome TEXT,
    reply TEXT,
    PRIMARY KEY (fleet_id, letter_id, attempt),
    FOREIGN KEY (fleet_id, letter_id) REFERENCES letter (fleet_id, id)
) STRICT;

-- facts: they move marks, never stages, and never apply to do_not_drive.
CREATE TABLE acknowledgement (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    person_id BLOB,
    note TEXT,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

CREATE TABLE postponement (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    until_day TEXT NOT NULL,
    reason TEXT NOT NULL,
    person_id BLOB,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- Key and body hash are kept for ever, the stored answer 30 days.
CREATE TABLE idempotency (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    holder BLOB NOT NULL,
    method TEXT NOT NULL,
    path_template TEXT NOT NULL,
    idempotency_key TEXT NOT NULL,
    body_hash BLOB NOT NULL,
    status INTEGER NOT NULL,
    location TEXT,
    etag TEXT,
    content_type TEXT NOT NULL,
    body TEXT,
    recorded_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, holder, method, path_template, idempotency_key)
) STRICT;

-- Cron work: expression, zone, what to do about missed runs.
CREATE TABLE job (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    code TEXT NOT NULL,
    expression TEXT NOT NULL,
    zone TEXT NOT NULL,
    missed TEXT NOT NULL CHECK (missed IN ('once', 'all', 'skip')),
    next_due_at TEXT,
    version INTEGER NOT NULL,
    PRIMARY KEY (fleet_id, code)
) STRICT;
CREATE INDEX queue_job ON job (next_due_at);

CREATE TABLE job_run (
    fleet_id BLOB NOT NULL,
    job_code TEXT NOT NULL,
    due_at TEXT NOT NULL,
    outcome TEXT NOT NULL,
    started_at TEXT,
    ended_at TEXT,
    detail TEXT,
    PRIMARY KEY (fleet_id, job_code, due_at),
    FOREIGN KEY (fleet_id, job_code) REFERENCES job (fleet_id, code)
) STRICT;

-- A photo or paper by its digest; the bytes lie in the object store.
CREATE TABLE attachment (
    fleet_id BLOB NOT NULL REFERENCES fleet (id),
    id BLOB NOT NULL,
    digest BLOB NOT NULL,
    media_type TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    subject TEXT NOT NULL,
    subject_id BLOB NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX attachment_by_digest ON attachment (fleet_id, digest);

-- A planned workshop stay and one technician's route; filled by the planner.
CREATE TABLE visit (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    workshop_id BLOB,
    on_day TEXT NOT NULL,
    state TEXT NOT NULL,
    items TEXT NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

CREATE TABLE round (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    person_id BLOB NOT NULL,
    on_day TEXT NOT NULL,
    calls TEXT NOT NULL,
    version INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- Slow work: imports and exports.
CREATE TABLE operation (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    kind TEXT NOT NULL,
    state TEXT NOT NULL,
    detail TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    ended_at TEXT,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
