-- The lives of components: that one was taken off for good and why, what it cost, and whether it came used. Conventions as in
-- the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (8, 1);

-- Whether it had been used before the fleet's record of it begins: how long it has lasted is not known then.
ALTER TABLE component ADD COLUMN came_used INTEGER NOT NULL DEFAULT 0;

-- fact: a component was taken off for good. The odometer is that of the vehicle it was taken off; none for one in store.
CREATE TABLE component_end (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    component_id BLOB NOT NULL,
    reason TEXT NOT NULL CHECK (reason IN ('worn', 'failed', 'damaged', 'scheduled', 'aged', 'recalled',
        'sold_with_vehicle', 'other')),
    on_day TEXT NOT NULL,
    odometer_value REAL,
    odometer_unit TEXT,
    odometer_mm INTEGER,
    note TEXT,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    withdrawn_at TEXT,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id),
    CHECK ((odometer_value IS NULL) = (odometer_unit IS NULL) AND (odometer_value IS NULL) = (odometer_mm IS NULL))
) STRICT;
-- A component ends once, unless that is withdrawn.
CREATE UNIQUE INDEX component_end_standing ON component_end (fleet_id, component_id) WHERE withdrawn_at IS NULL;

-- fact: what a component was said to cost, bought and fitted. What was said last holds.
CREATE TABLE component_cost (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    component_id BLOB NOT NULL,
    cost_minor INTEGER NOT NULL,
    currency TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by BLOB,
    source TEXT NOT NULL,
    act_id BLOB NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
) STRICT;
CREATE INDEX component_cost_by_component ON component_cost (fleet_id, component_id, recorded_at, id);
