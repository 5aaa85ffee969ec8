-- Indexes for a day on which thousands of vehicles wake at once. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (14, 1);

-- In the order in which vehicles are claimed, so that a claim of a few looks at no more than those.
DROP INDEX queue_vehicle_wakes;
CREATE INDEX queue_vehicle_wakes ON vehicle_state (wakes_at, fleet_id, vehicle_id);
-- Of what is in a letter alone: what is in none is found by its id or its vehicle.
DROP INDEX notice_by_letter;
CREATE INDEX notice_by_letter ON notice (fleet_id, letter_id) WHERE letter_id IS NOT NULL;
