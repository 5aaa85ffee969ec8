-- What full schedules rest on: workshops that make warranty good and when they work, the end of a stay, replaced
-- meters, running hours judged, the dash's own service indicator, and answers to "new or moved?". Conventions as in the
-- first schema.

INSERT INTO schema_version (version, readable_from) VALUES (2, 1);

ALTER TABLE workshop ADD COLUMN warranty_work BOOLEAN NOT NULL DEFAULT FALSE;
-- Monday to Friday.
ALTER TABLE workshop ADD COLUMN working_weekdays BIGINT NOT NULL DEFAULT 31;
-- Row security binds the owner too: without this the change would find no row.
SET LOCAL ostler.reach = 'all';
UPDATE workshop SET warranty_work = TRUE WHERE kind = 'dealer';

-- fact: a vehicle came out again.
CREATE TABLE stay_end (
    fleet_id UUID NOT NULL,
    stay_id UUID NOT NULL,
    out_at TIMESTAMPTZ NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, stay_id),
    FOREIGN KEY (fleet_id, stay_id) REFERENCES stay (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);

-- fact: from an instant on another instrument shows another number for the same vehicle.
CREATE TABLE meter_replacement (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    quantity TEXT NOT NULL CHECK (quantity IN ('distance', 'hours')),
    replaced_at TIMESTAMPTZ NOT NULL,
    old_value DOUBLE PRECISION NOT NULL,
    old_unit TEXT NOT NULL,
    old_exact BIGINT NOT NULL,
    new_value DOUBLE PRECISION NOT NULL,
    new_unit TEXT NOT NULL,
    new_exact BIGINT NOT NULL,
    reason TEXT NOT NULL,
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
CREATE INDEX meter_replacement_by_vehicle ON meter_replacement (fleet_id, vehicle_id, replaced_at, id);

-- fact: what the dash's own service indicator said was left of a rule's interval; what is left is JSON.
CREATE TABLE indicator_reading (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    rule_code TEXT NOT NULL,
    remaining TEXT NOT NULL,
    reading_id UUID,
    read_at TIMESTAMPTZ NOT NULL,
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
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX indicator_reading_by_vehicle ON indicator_reading (fleet_id, vehicle_id, read_at, id);

-- fact: why a measurement is better than the one before it; the newest answer holds.
CREATE TABLE measurement_answer (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    measurement_id UUID NOT NULL,
    choice TEXT NOT NULL CHECK (choice IN ('new', 'moved', 'mistaken')),
    from_place TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, measurement_id) REFERENCES measurement (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX measurement_answer_by_vehicle ON measurement_answer (fleet_id, vehicle_id);

-- derived: how each reading of running hours was judged.
CREATE TABLE hour_judgement (
    fleet_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    reading_id UUID NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('counted', 'held', 'withdrawn')),
    seconds BIGINT,
    detail TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, reading_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
);

ALTER TABLE stay_end ENABLE ROW LEVEL SECURITY;
ALTER TABLE stay_end FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON stay_end USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE meter_replacement ENABLE ROW LEVEL SECURITY;
ALTER TABLE meter_replacement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON meter_replacement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE indicator_reading ENABLE ROW LEVEL SECURITY;
ALTER TABLE indicator_reading FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON indicator_reading USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE measurement_answer ENABLE ROW LEVEL SECURITY;
ALTER TABLE measurement_answer FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON measurement_answer USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE hour_judgement ENABLE ROW LEVEL SECURITY;
ALTER TABLE hour_judgement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON hour_judgement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');
