-- When letters reach people, digests, and replies to reminders by vehicle. Conventions as in the first schema.

INSERT INTO schema_version (version, readable_from) VALUES (9, 1);

-- Days of the week as bits, Monday the lowest, and the hour, local time.
ALTER TABLE person_details ADD COLUMN letter_days INTEGER NOT NULL DEFAULT 31;
ALTER TABLE person_details ADD COLUMN letter_time TEXT NOT NULL DEFAULT '07:00:00';

-- One list of everything for one person on one day; unique for ever. `told` says what it was made of.
CREATE TABLE digest (
    fleet_id BLOB NOT NULL,
    id BLOB NOT NULL,
    person_id BLOB NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('week', 'round')),
    day TEXT NOT NULL,
    not_before TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('waiting', 'gathered', 'told', 'empty')),
    told TEXT,
    letter_id BLOB,
    created_at TEXT NOT NULL,
    settled_at TEXT,
    PRIMARY KEY (fleet_id, id),
    UNIQUE (fleet_id, person_id, kind, day),
    FOREIGN KEY (fleet_id, person_id) REFERENCES person (fleet_id, id)
) STRICT;
CREATE INDEX queue_digest ON digest (state, not_before);
CREATE INDEX digest_by_letter ON digest (fleet_id, letter_id);

CREATE INDEX acknowledgement_by_vehicle ON acknowledgement (fleet_id, vehicle_id);
CREATE INDEX postponement_by_vehicle ON postponement (fleet_id, vehicle_id);
CREATE INDEX letter_by_person ON letter (fleet_id, person_id, state);
