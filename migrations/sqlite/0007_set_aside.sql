-- Measurements that cannot be taken as they were written, and how each was settled. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (7, 1);

-- When it came on record, where that was later than its inspection did.
ALTER TABLE measurement ADD COLUMN recorded_at TEXT;

-- fact: a measurement of an inspection that cannot be right as it was written; what was written is JSON.
CREATE TABLE set_aside (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    inspection_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    ordinal INTEGER NOT NULL,
    pointer TEXT NOT NULL,
    written TEXT NOT NULL,
    reason TEXT NOT NULL,
    detail TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, inspection_id, ordinal),
    FOREIGN KEY (fleet_id, inspection_id) REFERENCES inspection (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX set_aside_in_order ON set_aside (fleet_id, recorded_at, id);
CREATE INDEX set_aside_by_vehicle ON set_aside (fleet_id, vehicle_id);

-- fact: what a person decided about it: the right value was taken as that measurement, or it was dismissed.
CREATE TABLE set_aside_settlement (
    fleet_id BLOB NOT NULL,
    set_aside_id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('taken', 'dismissed')),
    measurement_id BLOB,
    reason TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, set_aside_id),
    FOREIGN KEY (fleet_id, set_aside_id) REFERENCES set_aside (fleet_id, id),
    FOREIGN KEY (fleet_id, measurement_id) REFERENCES measurement (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id),
    CHECK ((kind = 'taken') = (measurement_id IS NOT NULL))
) STRICT;
