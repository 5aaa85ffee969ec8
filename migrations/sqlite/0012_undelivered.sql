-- What becomes of letters that relays refuse. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (12, 1);

-- Of the attempts, those that found the way barred for every letter: they do not count.
ALTER TABLE letter ADD COLUMN held INTEGER NOT NULL DEFAULT 0;
-- A relay found it too large: what was attached has been taken out of its body.
ALTER TABLE letter ADD COLUMN without_attachment INTEGER NOT NULL DEFAULT 0 CHECK (without_attachment IN (0, 1));

CREATE INDEX notice_by_person ON notice (fleet_id, person_id, state);
