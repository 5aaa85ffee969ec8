-- Optional kinds of letters that a person does without. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (13, 1);

-- A JSON list of words.
ALTER TABLE person_details ADD COLUMN declined_letters TEXT NOT NULL DEFAULT '[]';
