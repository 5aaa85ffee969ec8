-- The first schema, for PostgreSQL: the counterpart of the file of this name for SQLite, which says what each table is
-- for. Same tables, columns, keys and indexes; the types are the engine's own (UUID and BYTEA for BLOB, DATE and
-- TIMESTAMPTZ for TEXT, BOOLEAN and BIGINT for INTEGER); JSON stays TEXT, so that derived rows keep their bytes.

CREATE TABLE schema_version (
    version BIGINT NOT NULL PRIMARY KEY,
    readable_from BIGINT NOT NULL
);
INSERT INTO schema_version (version, readable_from) VALUES (1, 1);

-- Secrets of this installation: seals cursors and signs links.
CREATE TABLE installation (
    name TEXT NOT NULL PRIMARY KEY,
    secret BYTEA NOT NULL
);

CREATE TABLE fleet (
    id UUID NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    sequence BIGINT NOT NULL,
    policy TEXT NOT NULL,
    policy_version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL
);

-- Who did what, when and from where. seq is 0 until the act's last statement takes the fleet's next number.
CREATE TABLE act (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    seq BIGINT NOT NULL,
    kind TEXT NOT NULL,
    actor_kind TEXT NOT NULL CHECK (actor_kind IN ('key', 'operator', 'program')),
    key_id UUID,
    person_id UUID,
    source TEXT NOT NULL,
    request_id TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (fleet_id, id)
);
CREATE INDEX act_by_seq ON act (fleet_id, seq);

-- Before and after of each changed record, in the same transaction as the change.
CREATE TABLE audit (
    fleet_id UUID NOT NULL,
    act_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    subject TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    verb TEXT NOT NULL,
    before TEXT,
    after TEXT,
    PRIMARY KEY (fleet_id, act_id, ordinal),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

CREATE TABLE depot (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    name TEXT NOT NULL,
    zone TEXT NOT NULL,
    jurisdiction TEXT NOT NULL CHECK (jurisdiction IN ('us', 'uk', 'eu')),
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (fleet_id, id)
);

CREATE TABLE person (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('manager', 'technician', 'driver', 'viewer')),
    depots TEXT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    removed_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id)
);

-- The one table of personal details: erasing a person deletes this row, history keeps the bare id.
CREATE TABLE person_details (
    fleet_id UUID NOT NULL,
    person_id UUID NOT NULL,
    name TEXT NOT NULL,
    email TEXT,
    language TEXT NOT NULL,
    units TEXT,
    zone TEXT NOT NULL,
    quiet_from TEXT,
    quiet_to TEXT,
    PRIMARY KEY (fleet_id, person_id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
);

-- Addresses no letter goes to, as hashes: they outlive the person.
CREATE TABLE suppressed_address (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    address_hash BYTEA NOT NULL,
    reason TEXT NOT NULL,
    suppressed_at TIMESTAMPTZ NOT NULL,
    released_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, address_hash)
);

CREATE TABLE access_key (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('person', 'device', 'script')),
    person_id UUID,
    vehicle_id UUID,
    label TEXT NOT NULL,
    scopes TEXT NOT NULL,
    secret_hash BYTEA NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    expires_at TIMESTAMPTZ,
    revoked_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
);
CREATE UNIQUE INDEX lookup_access_key ON access_key (secret_hash);

CREATE TABLE workshop (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('own_bay', 'dealer', 'independent', 'mobile')),
    lead_days BIGINT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (fleet_id, id)
);

CREATE TABLE vehicle (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    vin TEXT,
    make TEXT NOT NULL,
    model TEXT NOT NULL,
    model_year BIGINT,
    powertrain TEXT NOT NULL CHECK (powertrain IN ('petrol', 'diesel', 'hybrid', 'battery_electric')),
    gross_mass_kg BIGINT,
    tags TEXT NOT NULL,
    in_service_on DATE,
    in_service_odometer_mm BIGINT NOT NULL,
    history_unknown BOOLEAN NOT NULL,
    acquired_on DATE NOT NULL,
    odometer_unit TEXT NOT NULL CHECK (odometer_unit IN ('km', 'mi')),
    placard TEXT NOT NULL,
    retired_on DATE,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, vin),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

CREATE TABLE rulebook (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    title TEXT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (fleet_id, id)
);

-- fact: what changes about a vehicle, in force from a day until the next version.
CREATE TABLE vehicle_attributes (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    from_day DATE NOT NULL,
    depot_id UUID NOT NULL,
    duty TEXT NOT NULL CHECK (duty IN ('delivery', 'rideshare', 'pool', 'long_distance')),
    severe BOOLEAN NOT NULL,
    label TEXT NOT NULL,
    plate TEXT,
    parked BOOLEAN NOT NULL,
    operating_weekdays BIGINT NOT NULL,
    rulebook_id UUID,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, ordinal),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, depot_id) REFERENCES depot (fleet_id, id),
    FOREIGN KEY (fleet_id, rulebook_id) REFERENCES rulebook (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX vehicle_attributes_by_label ON vehicle_attributes (fleet_id, label);
CREATE INDEX vehicle_attributes_by_plate ON vehicle_attributes (fleet_id, plate);

-- One row a vehicle: what version of its horizon is needed and done, when it wakes, who works on it.
CREATE TABLE vehicle_state (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    needed_version BIGINT NOT NULL,
    done_version BIGINT NOT NULL,
    engine_version TEXT NOT NULL,
    wakes_at TIMESTAMPTZ,
    claim_token UUID,
    claimed_until TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, vehicle_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);
CREATE INDEX queue_vehicle_wakes ON vehicle_state (wakes_at);
CREATE INDEX queue_vehicle_behind ON vehicle_state (done_version, needed_version);

-- fact: the one meter log, fed by readings, services and inspections.
CREATE TABLE odometer_reading (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    meter BIGINT NOT NULL,
    quantity TEXT NOT NULL CHECK (quantity IN ('distance', 'hours')),
    value DOUBLE PRECISION NOT NULL,
    unit TEXT NOT NULL,
    exact BIGINT NOT NULL,
    read_at TIMESTAMPTZ NOT NULL,
    sent_at TIMESTAMPTZ,
    clock_offset_seconds BIGINT NOT NULL,
    clock_in_doubt BOOLEAN NOT NULL,
    reading_source TEXT NOT NULL,
    service_id UUID,
    inspection_id UUID,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    origin_id TEXT,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX odometer_reading_by_vehicle ON odometer_reading (fleet_id, vehicle_id, read_at, id);

-- fact: what people decided about readings.
CREATE TABLE reading_decision (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    reading_id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('release', 'correct', 'withdraw')),
    value DOUBLE PRECISION,
    unit TEXT,
    reason TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX reading_decision_by_vehicle ON reading_decision (fleet_id, vehicle_id);

-- fact: one version of a rulebook; an edit adds one and never rewrites the past.
CREATE TABLE rulebook_version (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    rulebook_id UUID NOT NULL,
    version BIGINT NOT NULL,
    title TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, rulebook_id, version),
    FOREIGN KEY (fleet_id, rulebook_id) REFERENCES rulebook (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- fact: the rules of one version, in the book's order; body is the whole rule as JSON.
CREATE TABLE rule (
    fleet_id UUID NOT NULL,
    rulebook_id UUID NOT NULL,
    version BIGINT NOT NULL,
    code TEXT NOT NULL,
    ordinal BIGINT NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, rulebook_id, version, code),
    FOREIGN KEY (fleet_id, rulebook_id, version) REFERENCES rulebook_version (fleet_id, rulebook_id, version)
);

-- fact: a vehicle's exception to a rule.
CREATE TABLE rule_override (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    rule_code TEXT NOT NULL,
    every TEXT,
    reason TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX rule_override_by_vehicle ON rule_override (fleet_id, vehicle_id);

-- fact: an answer to the baseline check, one a rule.
CREATE TABLE baseline_answer (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    rule_code TEXT NOT NULL,
    choice TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX baseline_answer_by_vehicle ON baseline_answer (fleet_id, vehicle_id);

-- fact: work done.
CREATE TABLE service_record (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    done_on DATE NOT NULL,
    odometer_value DOUBLE PRECISION NOT NULL,
    odometer_unit TEXT NOT NULL,
    odometer_mm BIGINT NOT NULL,
    reading_id UUID NOT NULL,
    rules TEXT NOT NULL,
    workshop_id UUID,
    parts TEXT NOT NULL,
    cost_minor BIGINT,
    currency TEXT,
    evidence TEXT,
    note TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    origin_id TEXT,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, workshop_id) REFERENCES workshop (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX service_record_by_vehicle ON service_record (fleet_id, vehicle_id, done_on, id);

-- fact: a document with an expiry.
CREATE TABLE paper (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    kind TEXT NOT NULL,
    reference TEXT,
    issued_on DATE,
    expires_on DATE NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    origin_id TEXT,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX paper_by_vehicle ON paper (fleet_id, vehicle_id, expires_on, id);

-- fact: the terms of a warranty or lease, as JSON.
CREATE TABLE coverage_window (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('warranty', 'lease')),
    title TEXT NOT NULL,
    terms TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    origin_id TEXT,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX coverage_window_by_vehicle ON coverage_window (fleet_id, vehicle_id);

-- fact: time off the road.
CREATE TABLE stay (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    workshop_id UUID,
    in_at TIMESTAMPTZ NOT NULL,
    out_at TIMESTAMPTZ,
    reason TEXT NOT NULL,
    waiting_for TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, workshop_id) REFERENCES workshop (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX stay_by_vehicle ON stay (fleet_id, vehicle_id, in_at);

-- fact: a check sheet, every version kept.
CREATE TABLE check_sheet (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    code TEXT NOT NULL,
    version BIGINT NOT NULL,
    title TEXT NOT NULL,
    points TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, code, version),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- A technician's batch as it came in.
CREATE TABLE inspection_batch (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    device_id TEXT NOT NULL,
    device_seq BIGINT,
    device_sent_at TIMESTAMPTZ NOT NULL,
    received_at TIMESTAMPTZ NOT NULL,
    clock_offset_seconds BIGINT NOT NULL,
    entries BIGINT NOT NULL,
    raw TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- An entry id is used once in a fleet for ever; its hash tells a replay from a clash.
CREATE TABLE entry (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    content_hash BYTEA NOT NULL,
    inspection_id UUID NOT NULL,
    batch_id UUID,
    status TEXT NOT NULL CHECK (status IN ('accepted', 'held')),
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- What was refused, kept raw so that nothing measured is lost.
CREATE TABLE rejected_entry (
    fleet_id UUID NOT NULL,
    batch_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    entry_id TEXT,
    raw TEXT NOT NULL,
    problem TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, act_id, ordinal),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- fact: one check of one vehicle.
CREATE TABLE inspection (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    sheet_code TEXT NOT NULL,
    sheet_version BIGINT NOT NULL,
    performed_at TIMESTAMPTZ NOT NULL,
    sent_at TIMESTAMPTZ NOT NULL,
    clock_offset_seconds BIGINT NOT NULL,
    clock_corrected BOOLEAN NOT NULL,
    clock_in_doubt BOOLEAN NOT NULL,
    reading_id UUID,
    note TEXT,
    unknown_members TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    origin_id TEXT,
    supersedes UUID,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, sheet_code, sheet_version) REFERENCES check_sheet (fleet_id, code, version),
    FOREIGN KEY (fleet_id, reading_id) REFERENCES odometer_reading (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX inspection_by_vehicle ON inspection (fleet_id, vehicle_id, performed_at, id);

-- fact: one measured value at one place; the component is resolved when loading.
CREATE TABLE measurement (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    inspection_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    point TEXT NOT NULL,
    place TEXT NOT NULL,
    zone TEXT NOT NULL,
    value DOUBLE PRECISION NOT NULL,
    unit TEXT NOT NULL,
    exact BIGINT NOT NULL,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, inspection_id, point, place, zone),
    FOREIGN KEY (fleet_id, inspection_id) REFERENCES inspection (fleet_id, id)
);
CREATE INDEX measurement_by_vehicle ON measurement (fleet_id, vehicle_id);

-- fact: something wrong; closing it is a fact of its own.
CREATE TABLE finding (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    inspection_id UUID,
    code TEXT NOT NULL,
    component TEXT,
    place TEXT NOT NULL,
    weight TEXT NOT NULL CHECK (weight IN ('note', 'attend', 'do_not_drive')),
    note TEXT NOT NULL,
    found_at TIMESTAMPTZ NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX finding_by_vehicle ON finding (fleet_id, vehicle_id);

CREATE TABLE finding_closure (
    fleet_id UUID NOT NULL,
    finding_id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('fixed', 'dismissed')),
    reason TEXT NOT NULL,
    service_id UUID,
    closed_at TIMESTAMPTZ NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, finding_id),
    FOREIGN KEY (fleet_id, finding_id) REFERENCES finding (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

CREATE TABLE warranty_claim (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    window_id UUID NOT NULL,
    finding_id UUID,
    state TEXT NOT NULL,
    body TEXT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, window_id) REFERENCES coverage_window (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- A part whose life is followed; it belongs to the fleet and may lie in store.
CREATE TABLE component (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    kind TEXT NOT NULL,
    product TEXT NOT NULL,
    depth_new_value DOUBLE PRECISION,
    depth_new_unit TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- fact: a component's time in one place; its end is a fact of its own.
CREATE TABLE fitting (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    component_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    place TEXT NOT NULL,
    from_day DATE NOT NULL,
    from_odometer_mm BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX fitting_by_vehicle ON fitting (fleet_id, vehicle_id);
CREATE INDEX fitting_by_component ON fitting (fleet_id, component_id);

CREATE TABLE fitting_end (
    fleet_id UUID NOT NULL,
    fitting_id UUID NOT NULL,
    to_day DATE NOT NULL,
    to_odometer_mm BIGINT NOT NULL,
    reason TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, fitting_id),
    FOREIGN KEY (fleet_id, fitting_id) REFERENCES fitting (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- Fitted usage of a cohort: append-only.
CREATE TABLE cohort_fit (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    cohort TEXT NOT NULL,
    level TEXT NOT NULL CHECK (level IN ('cohort', 'parent', 'fleet', 'shipped')),
    vehicles BIGINT NOT NULL,
    a DOUBLE PRECISION NOT NULL,
    p DOUBLE PRECISION NOT NULL,
    q DOUBLE PRECISION NOT NULL,
    kappa TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- fact: which fit a vehicle is judged by from now on; the newest holds.
CREATE TABLE fit_pin (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    fit_id UUID NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, ordinal),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, fit_id) REFERENCES cohort_fit (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- derived: how each reading was judged.
CREATE TABLE judgement (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    reading_id UUID NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('counted', 'held', 'withdrawn')),
    odometer_mm BIGINT,
    detail TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, reading_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);

-- derived: what the newest measurements mean.
CREATE TABLE grade (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    point TEXT NOT NULL,
    place TEXT NOT NULL,
    grade TEXT NOT NULL CHECK (grade IN ('good', 'watch', 'attend', 'do_not_drive')),
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, point, place),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);

-- derived: the usage a vehicle's forecasts rest on.
CREATE TABLE usage_outlook (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);

-- derived: one thing that will need doing; moments, never a stage. id is a UUIDv8 of (vehicle, key, cycle).
CREATE TABLE due_item (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    id UUID NOT NULL,
    kind TEXT NOT NULL,
    depot_id UUID NOT NULL,
    approaching_at TIMESTAMPTZ,
    due_at TIMESTAMPTZ,
    overdue_at TIMESTAMPTZ,
    do_not_drive_from TIMESTAMPTZ,
    sort_at TIMESTAMPTZ NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, item_key),
    UNIQUE (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);
CREATE INDEX due_item_by_urgency ON due_item (fleet_id, sort_at, id);

-- derived: where a coverage window leads.
CREATE TABLE window_outlook (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    window_id UUID NOT NULL,
    depot_id UUID NOT NULL,
    ending_at TIMESTAMPTZ,
    ended_at TIMESTAMPTZ,
    early_end DATE,
    sort_on DATE NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, window_id),
    FOREIGN KEY (fleet_id, window_id) REFERENCES coverage_window (fleet_id, id)
);
CREATE INDEX window_outlook_by_end ON window_outlook (fleet_id, sort_on, window_id);

-- A moment somebody must be told. Waiting rows are derived; once told they are decisions and stay.
CREATE TABLE mark (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    mark TEXT NOT NULL,
    rank BIGINT NOT NULL,
    fires_at TIMESTAMPTZ NOT NULL,
    outcome TEXT NOT NULL CHECK (outcome IN ('waiting', 'told', 'folded', 'overtaken', 'skipped')),
    reason TEXT,
    settled_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, vehicle_id, item_key, cycle, mark),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);

-- A decision to tell one person one thing: unique for ever.
CREATE TABLE notice (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    mark TEXT NOT NULL,
    person_id UUID NOT NULL,
    urgent BOOLEAN NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'gathered', 'told', 'withdrawn', 'list_only')),
    body TEXT NOT NULL,
    letter_id UUID,
    created_at TIMESTAMPTZ NOT NULL,
    not_before TIMESTAMPTZ NOT NULL,
    settled_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, vehicle_id, item_key, cycle, mark, person_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
);
CREATE INDEX queue_notice ON notice (state, not_before);
CREATE INDEX notice_by_letter ON notice (fleet_id, letter_id);

CREATE TABLE letter (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    person_id UUID NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    message_id TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'claimed', 'sending', 'sent', 'retry', 'uncertain', 'withdrawn',
        'undeliverable', 'parked')),
    attempts BIGINT NOT NULL,
    next_attempt_at TIMESTAMPTZ,
    claim_token UUID,
    claimed_until TIMESTAMPTZ,
    last_reply TEXT,
    created_at TIMESTAMPTZ NOT NULL,
    sent_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
);
CREATE INDEX queue_letter ON letter (state, next_attempt_at);
CREATE UNIQUE INDEX lookup_message_id ON letter (message_id);

-- The exact bytes, apart from the letter so that they can be erased while the decision stays.
CREATE TABLE letter_body (
    fleet_id UUID NOT NULL,
    letter_id UUID NOT NULL,
    address TEXT NOT NULL,
    bytes BYTEA NOT NULL,
    PRIMARY KEY (fleet_id, letter_id),
    FOREIGN KEY (fleet_id, letter_id) REFERENCES letter (fleet_id, id)
);

CREATE TABLE letter_attempt (
    fleet_id UUID NOT NULL,
    letter_id UUID NOT NULL,
    attempt BIGINT NOT NULL,
    started_at TIMESTAMPTZ NOT NULL,
    ended_at TIMESTAMPTZ,
    outcome TEXT,
    reply TEXT,
    PRIMARY KEY (fleet_id, letter_id, attempt),
    FOREIGN KEY (fleet_id, letter_id) REFERENCES letter (fleet_id, id)
);

-- facts: they move marks, never stages, and never apply to do_not_drive.
CREATE TABLE acknowledgement (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    person_id UUID,
    note TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

CREATE TABLE postponement (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    until_day DATE NOT NULL,
    reason TEXT NOT NULL,
    person_id UUID,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- Key and body hash are kept for ever, the stored answer 30 days.
CREATE TABLE idempotency (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    holder UUID NOT NULL,
    method TEXT NOT NULL,
    path_template TEXT NOT NULL,
    idempotency_key TEXT NOT NULL,
    body_hash BYTEA NOT NULL,
    status BIGINT NOT NULL,
    location TEXT,
    etag TEXT,
    content_type TEXT NOT NULL,
    body TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (fleet_id, holder, method, path_template, idempotency_key)
);

-- Cron work: expression, zone, what to do about missed runs.
CREATE TABLE job (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    code TEXT NOT NULL,
    expression TEXT NOT NULL,
    zone TEXT NOT NULL,
    missed TEXT NOT NULL CHECK (missed IN ('once', 'all', 'skip')),
    next_due_at TIMESTAMPTZ,
    version BIGINT NOT NULL,
    PRIMARY KEY (fleet_id, code)
);
CREATE INDEX queue_job ON job (next_due_at);

CREATE TABLE job_run (
    fleet_id UUID NOT NULL,
    job_code TEXT NOT NULL,
    due_at TIMESTAMPTZ NOT NULL,
    outcome TEXT NOT NULL,
    started_at TIMESTAMPTZ,
    ended_at TIMESTAMPTZ,
    detail TEXT,
    PRIMARY KEY (fleet_id, job_code, due_at),
    FOREIGN KEY (fleet_id, job_code) REFERENCES job (fleet_id, code)
);

-- A photo or paper by its digest; the bytes lie in the object store.
CREATE TABLE attachment (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    digest BYTEA NOT NULL,
    media_type TEXT NOT NULL,
    bytes BIGINT NOT NULL,
    subject TEXT NOT NULL,
    subject_id UUID NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX attachment_by_digest ON attachment (fleet_id, digest);

-- A planned workshop stay and one technician's route; filled by the planner.
CREATE TABLE visit (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    workshop_id UUID,
    on_day DATE NOT NULL,
    state TEXT NOT NULL,
    items TEXT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

CREATE TABLE round (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    person_id UUID NOT NULL,
    on_day DATE NOT NULL,
    calls TEXT NOT NULL,
    version BIGINT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- Slow work: imports and exports.
CREATE TABLE operation (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    kind TEXT NOT NULL,
    state TEXT NOT NULL,
    detail TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    ended_at TIMESTAMPTZ,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- Row security, the second wall behind every "WHERE fleet_id": a transaction says whose rows it may see, and one that
-- says nothing sees none. Forced, because the program owns its tables. Foreign keys are checked past it.

ALTER TABLE fleet ENABLE ROW LEVEL SECURITY;
ALTER TABLE fleet FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON fleet USING (id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE act ENABLE ROW LEVEL SECURITY;
ALTER TABLE act FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON act USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE audit ENABLE ROW LEVEL SECURITY;
ALTER TABLE audit FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON audit USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE depot ENABLE ROW LEVEL SECURITY;
ALTER TABLE depot FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON depot USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE person ENABLE ROW LEVEL SECURITY;
ALTER TABLE person FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON person USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE person_details ENABLE ROW LEVEL SECURITY;
ALTER TABLE person_details FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON person_details USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE suppressed_address ENABLE ROW LEVEL SECURITY;
ALTER TABLE suppressed_address FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON suppressed_address USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE access_key ENABLE ROW LEVEL SECURITY;
ALTER TABLE access_key FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON access_key USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE workshop ENABLE ROW LEVEL SECURITY;
ALTER TABLE workshop FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON workshop USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE vehicle ENABLE ROW LEVEL SECURITY;
ALTER TABLE vehicle FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON vehicle USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE vehicle_attributes ENABLE ROW LEVEL SECURITY;
ALTER TABLE vehicle_attributes FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON vehicle_attributes USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE vehicle_state ENABLE ROW LEVEL SECURITY;
ALTER TABLE vehicle_state FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON vehicle_state USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE odometer_reading ENABLE ROW LEVEL SECURITY;
ALTER TABLE odometer_reading FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON odometer_reading USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE reading_decision ENABLE ROW LEVEL SECURITY;
ALTER TABLE reading_decision FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON reading_decision USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE rulebook ENABLE ROW LEVEL SECURITY;
ALTER TABLE rulebook FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON rulebook USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE rulebook_version ENABLE ROW LEVEL SECURITY;
ALTER TABLE rulebook_version FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON rulebook_version USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE rule ENABLE ROW LEVEL SECURITY;
ALTER TABLE rule FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON rule USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE rule_override ENABLE ROW LEVEL SECURITY;
ALTER TABLE rule_override FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON rule_override USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE baseline_answer ENABLE ROW LEVEL SECURITY;
ALTER TABLE baseline_answer FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON baseline_answer USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE service_record ENABLE ROW LEVEL SECURITY;
ALTER TABLE service_record FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON service_record USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE paper ENABLE ROW LEVEL SECURITY;
ALTER TABLE paper FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON paper USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE coverage_window ENABLE ROW LEVEL SECURITY;
ALTER TABLE coverage_window FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON coverage_window USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE stay ENABLE ROW LEVEL SECURITY;
ALTER TABLE stay FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON stay USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE check_sheet ENABLE ROW LEVEL SECURITY;
ALTER TABLE check_sheet FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON check_sheet USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE inspection_batch ENABLE ROW LEVEL SECURITY;
ALTER TABLE inspection_batch FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON inspection_batch USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE entry ENABLE ROW LEVEL SECURITY;
ALTER TABLE entry FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON entry USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE rejected_entry ENABLE ROW LEVEL SECURITY;
ALTER TABLE rejected_entry FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON rejected_entry USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE inspection ENABLE ROW LEVEL SECURITY;
ALTER TABLE inspection FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON inspection USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE measurement ENABLE ROW LEVEL SECURITY;
ALTER TABLE measurement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON measurement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE finding ENABLE ROW LEVEL SECURITY;
ALTER TABLE finding FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON finding USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE finding_closure ENABLE ROW LEVEL SECURITY;
ALTER TABLE finding_closure FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON finding_closure USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE warranty_claim ENABLE ROW LEVEL SECURITY;
ALTER TABLE warranty_claim FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON warranty_claim USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE component ENABLE ROW LEVEL SECURITY;
ALTER TABLE component FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON component USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE fitting ENABLE ROW LEVEL SECURITY;
ALTER TABLE fitting FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON fitting USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE fitting_end ENABLE ROW LEVEL SECURITY;
ALTER TABLE fitting_end FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON fitting_end USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE cohort_fit ENABLE ROW LEVEL SECURITY;
ALTER TABLE cohort_fit FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON cohort_fit USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE fit_pin ENABLE ROW LEVEL SECURITY;
ALTER TABLE fit_pin FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON fit_pin USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE judgement ENABLE ROW LEVEL SECURITY;
ALTER TABLE judgement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON judgement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE grade ENABLE ROW LEVEL SECURITY;
ALTER TABLE grade FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON grade USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE usage_outlook ENABLE ROW LEVEL SECURITY;
ALTER TABLE usage_outlook FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON usage_outlook USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE due_item ENABLE ROW LEVEL SECURITY;
ALTER TABLE due_item FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON due_item USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE window_outlook ENABLE ROW LEVEL SECURITY;
ALTER TABLE window_outlook FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON window_outlook USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE mark ENABLE ROW LEVEL SECURITY;
ALTER TABLE mark FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON mark USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE notice ENABLE ROW LEVEL SECURITY;
ALTER TABLE notice FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON notice USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE letter ENABLE ROW LEVEL SECURITY;
ALTER TABLE letter FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON letter USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE letter_body ENABLE ROW LEVEL SECURITY;
ALTER TABLE letter_body FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON letter_body USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE letter_attempt ENABLE ROW LEVEL SECURITY;
ALTER TABLE letter_attempt FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON letter_attempt USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE acknowledgement ENABLE ROW LEVEL SECURITY;
ALTER TABLE acknowledgement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON acknowledgement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE postponement ENABLE ROW LEVEL SECURITY;
ALTER TABLE postponement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON postponement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE idempotency ENABLE ROW LEVEL SECURITY;
ALTER TABLE idempotency FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON idempotency USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE job ENABLE ROW LEVEL SECURITY;
ALTER TABLE job FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON job USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE job_run ENABLE ROW LEVEL SECURITY;
ALTER TABLE job_run FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON job_run USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE attachment ENABLE ROW LEVEL SECURITY;
ALTER TABLE attachment FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON attachment USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE visit ENABLE ROW LEVEL SECURITY;
ALTER TABLE visit FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON visit USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE round ENABLE ROW LEVEL SECURITY;
ALTER TABLE round FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON round USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE operation ENABLE ROW LEVEL SECURITY;
ALTER TABLE operation FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON operation USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');
