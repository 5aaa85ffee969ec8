-- Measurements that cannot be taken as they were written, and how each was settled. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (7, 1);

-- When it came on record, where that was later than its inspection did.
ALTER TABLE measurement ADD COLUMN recorded_at TIMESTAMPTZ;

-- fact: a measurement of an inspection that cannot be right as it was written; what was written is JSON.
CREATE TABLE set_aside (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    inspection_id UUID NOT NULL,
    vehicle_id UUID NOT NULL,
    ordinal BIGINT NOT NULL,
    pointer TEXT NOT NULL,
    written TEXT NOT NULL,
    reason TEXT NOT NULL,
    detail TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, inspection_id, ordinal),
    FOREIGN KEY (fleet_id, inspection_id) REFERENCES inspection (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX set_aside_in_order ON set_aside (fleet_id, recorded_at, id);
CREATE INDEX set_aside_by_vehicle ON set_aside (fleet_id, vehicle_id);

-- fact: what a person decided about it: the right value was taken as that measurement, or it was dismissed.
CREATE TABLE set_aside_settlement (
    fleet_id UUID NOT NULL,
    set_aside_id UUID NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('taken', 'dismissed')),
    measurement_id UUID,
    reason TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, set_aside_id),
    FOREIGN KEY (fleet_id, set_aside_id) REFERENCES set_aside (fleet_id, id),
    FOREIGN KEY (fleet_id, measurement_id) REFERENCES measurement (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id),
    CHECK ((kind = 'taken') = (measurement_id IS NOT NULL))
);

ALTER TABLE set_aside ENABLE ROW LEVEL SECURITY;
ALTER TABLE set_aside FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON set_aside USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE set_aside_settlement ENABLE ROW LEVEL SECURITY;
ALTER TABLE set_aside_settlement FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON set_aside_settlement USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');
