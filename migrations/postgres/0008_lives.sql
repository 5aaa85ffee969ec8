-- The lives of components: that one was taken off for good and why, what it cost, and whether it came used. Conventions as in
-- the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (8, 1);

-- Whether it had been used before the fleet's record of it begins: how long it has lasted is not known then.
ALTER TABLE component ADD COLUMN came_used BOOLEAN NOT NULL DEFAULT FALSE;

-- fact: a component was taken off for good. The odometer is that of the vehicle it was taken off; none for one in store.
CREATE TABLE component_end (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    component_id UUID NOT NULL,
    reason TEXT NOT NULL CHECK (reason IN ('worn', 'failed', 'damaged', 'scheduled', 'aged', 'recalled',
        'sold_with_vehicle', 'other')),
    on_day DATE NOT NULL,
    odometer_value DOUBLE PRECISION,
    odometer_unit TEXT,
    odometer_mm BIGINT,
    note TEXT,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    withdrawn_at TIMESTAMPTZ,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id),
    CHECK ((odometer_value IS NULL) = (odometer_unit IS NULL) AND (odometer_value IS NULL) = (odometer_mm IS NULL))
);
-- A component ends once, unless that is withdrawn.
CREATE UNIQUE INDEX component_end_standing ON component_end (fleet_id, component_id) WHERE withdrawn_at IS NULL;

-- fact: what a component was said to cost, bought and fitted. What was said last holds.
CREATE TABLE component_cost (
    fleet_id UUID NOT NULL,
    id UUID NOT NULL,
    component_id UUID NOT NULL,
    cost_minor BIGINT NOT NULL,
    currency TEXT NOT NULL,
    recorded_at TIMESTAMPTZ NOT NULL,
    recorded_by UUID,
    source TEXT NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, component_id) REFERENCES component (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX component_cost_by_component ON component_cost (fleet_id, component_id, recorded_at, id);

ALTER TABLE component_end ENABLE ROW LEVEL SECURITY;
ALTER TABLE component_end FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON component_end USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');

ALTER TABLE component_cost ENABLE ROW LEVEL SECURITY;
ALTER TABLE component_cost FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON component_cost USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');
