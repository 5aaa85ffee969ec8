-- What people's calendars were told. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (10, 1);

-- A revision of the day of one item and cycle, as one letter told it to one person's calendar. Whether it arrived is said by
-- the letter. The highest sequence of a day is never deleted but with its person: a calendar takes no lower one.
CREATE TABLE calendar_day (
    fleet_id BLOB NOT NULL,
    person_id BLOB NOT NULL,
    vehicle_id BLOB NOT NULL,
    item_key TEXT NOT NULL,
    cycle TEXT NOT NULL,
    sequence INTEGER NOT NULL CHECK (sequence >= 0),
    uid TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('PUBLISH', 'CANCEL')),
    day TEXT NOT NULL,
    label TEXT NOT NULL,
    what TEXT NOT NULL,
    letter_id BLOB NOT NULL,
    written_at TEXT NOT NULL,
    PRIMARY KEY (fleet_id, person_id, vehicle_id, item_key, cycle, sequence),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id),
    FOREIGN KEY (fleet_id, vehicle_id) REFERENCES vehicle (fleet_id, id),
    FOREIGN KEY (fleet_id, letter_id) REFERENCES letter (fleet_id, id)
) STRICT;
CREATE INDEX calendar_day_by_day ON calendar_day (fleet_id, person_id, day);
