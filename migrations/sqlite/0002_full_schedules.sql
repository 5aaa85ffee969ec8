-- What full schedules rest on: workshops that make warranty good and when they work, the end of a stay, replaced
-- meters, running hours judged, the dash's own service indicator, and answers to "new or moved?". Conventions as in the
-- first schema.

INSERT INTO schema_version (version, readable_from) VALUES (2, 1);

ALTER TABLE workshop ADD COLUMN warranty_work INTEGER NOT NULL DEFAULT 0 CHECK (warranty_work IN (0, 1));
-- Monday to Friday.
ALTER TABLE workshop ADD COLUMN working_weekdays INTEGER NOT NULL DEFAULT 31;
UPDATE workshop SET warranty_work = 1 WHERE kind = 'dealer';

-- fact: a vehicle came out again.
CREATE TABLE stay_end (
    fleet_id BLOB NOT NULL,
    stay_id BLOB NOT NULL,
    out_at TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, stay_id),
    FOREIGN KEY (fleet_id, stay_id) REFERENCES stay (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;

-- fact: from an instant on another instrument shows another number for the same vehicle.
CREATE TABLE meter_replacement (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    quantity TEXT NOT NULL CHECK (quantity IN ('distance', 'hours')),
    replaced_at TEXT NOT NULL,
    old_value REAL NOT NULL,
    old_unit TEXT NOT NULL,
    old_exact INTEGER NOT NULL,
    new_value REAL NOT NULL,
    new_unit TEXT NOT NULL,
    new_exact INTEGER NOT NULL,
    reason TEXT NOT NULL,
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
CREATE INDEX meter_replacement_by_vehicle ON meter_replacement (fleet_id, vehicle_id, replaced_at, id);

-- fact: what the dash's own service indicator said was left of a rule's interval; what is left is JSON.
CREATE TABLE indicator_reading (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    rule_code TEXT NOT NULL,
    remaining TEXT NOT NULL,
    reading_id BLOB,
    read_at TEXT NOT NULL,
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
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX indicator_reading_by_vehicle ON indicator_reading (fleet_id, vehicle_id, read_at, id);

-- fact: why a measurement is better than the one before it; the newest answer holds.
CREATE TABLE measurement_answer (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    measurement_id BLOB NOT NULL,
    choice TEXT NOT NULL CHECK (choice IN ('new', 'moved', 'mistaken')),
    from_place TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, measurement_id) REFERENCES measurement (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX measurement_answer_by_vehicle ON measurement_answer (fleet_id, vehicle_id);

-- derived: how each reading of running hours was judged.
CREATE TABLE hour_judgement (
    fleet_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    reading_id BLOB NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('counted', 'held', 'withdrawn')),
    seconds INTEGER,
    detail TEXT NOT NULL,
    PRIMARY KEY (fleet_id, vehicle_id, reading_id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id)
) STRICT;
