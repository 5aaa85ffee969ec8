-- The coldest a depot's vehicles must stand, in millikelvins: what coolant is held to.

INSERT INTO schema_version (version, readable_from) VALUES (5, 1);

ALTER TABLE depot ADD COLUMN design_low_mk BIGINT;
