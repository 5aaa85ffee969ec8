-- How fast the products of a fleet wear, as its own components tell. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (4, 1);

-- Fitted rates of wear of a product: append-only, and the newest holds.
CREATE TABLE wear_rate (
    fleet_id UUID NOT NULL REFERENCES fleet (id),
    id UUID NOT NULL,
    kind TEXT NOT NULL,
    product TEXT NOT NULL,
    front_mm_per_1000_km DOUBLE PRECISION NOT NULL CHECK (front_mm_per_1000_km > 0),
    rear_mm_per_1000_km DOUBLE PRECISION NOT NULL CHECK (rear_mm_per_1000_km > 0),
    tau DOUBLE PRECISION NOT NULL CHECK (tau > 0),
    components BIGINT NOT NULL CHECK (components > 0),
    recorded_at TIMESTAMPTZ NOT NULL,
    act_id UUID NOT NULL,
    PRIMARY KEY (fleet_id, id),
    FOREIGN KEY (fleet_id, act_id) REFERENCES act (fleet_id, id)
);
CREATE INDEX wear_rate_by_product ON wear_rate (fleet_id, kind, product, recorded_at);

ALTER TABLE wear_rate ENABLE ROW LEVEL SECURITY;
ALTER TABLE wear_rate FORCE ROW LEVEL SECURITY;
CREATE POLICY reach ON wear_rate USING (fleet_id = NULLIF(current_setting('ostler.fleet', true), '')::uuid
    OR current_setting('ostler.reach', true) = 'all');
