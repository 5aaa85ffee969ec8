-- A vehicle is pinned to one fit of its distance and one of its engine's running time.

INSERT INTO schema_version (version, readable_from) VALUES (6, 1);

ALTER TABLE fit_pin ADD COLUMN quantity TEXT NOT NULL DEFAULT 'distance' CHECK (quantity IN ('distance', 'hours'));
