//! People with duties in a fleet, and the keys that let them in.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::moment::{DayOfWeek, TimeOfDay};
use crate::reader::Reader;
use crate::text::{EmailAddress, LanguageTag, Line};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::{DepotId, KeyId, KeyKind, OptionalLetter, PersonId, Role, Scope, VehicleId};

request! {
    /// A span of the day in which no letter is delivered. It may reach past midnight.
    NewQuietHours {
        /// From this time on.
        from: TimeOfDay = "21:00",
        /// Until this time.
        to: TimeOfDay = "07:00",
    } checked by differ
}

fn differ(hours: &NewQuietHours, reader: &mut Reader) {
    if hours.from == hours.to {
        reader.within("to", |reader| reader.fault("same-time", "`from` and `to` must differ"));
    }
}

answer! {
    /// A span of the day in which no letter is delivered. It may reach past midnight.
    QuietHours {
        /// From this time on.
        from: TimeOfDay = "21:00",
        /// Until this time.
        to: TimeOfDay = "07:00",
    }
}

answer! {
    /// A person with duties in the fleet.
    Person {
        /// The id, which outlives name and address.
        id: PersonId,
        /// The duty.
        role: Role,
        /// Depots the person is concerned with; empty means all.
        depots: Vec<DepotId>,
        /// The name; empty once erased.
        name: String = "Ann Holler",
        /// Where letters go; null if the person gets none.
        email: Option<String> = "ann@fleet.example",
        /// In which language letters are written.
        language: String = "en",
        /// The zone in which quiet hours are read.
        zone: Tz,
        /// When no letter is delivered.
        quiet_hours: Option<QuietHours>,
        /// Days on which letters come, but for what cannot wait.
        letter_days: Vec<DayOfWeek> = ["monday", "tuesday", "wednesday", "thursday", "friday"],
        /// From which hour on, local time; a few minutes later, so that not all come at once.
        letter_time: TimeOfDay = "07:00",
        /// Optional letters the person does without. What must not be driven is told all the same.
        declined_letters: Vec<OptionalLetter> = ["week_ahead"],
        /// The version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::Person> for Person {
    fn from(person: model::Person) -> Self {
        let quiet_hours =
            person.quiet_hours.map(|(from, to)| QuietHours { from: TimeOfDay(from), to: TimeOfDay(to) });
        let (letter_days, letter_time) = (DayOfWeek::of(person.letter_days), TimeOfDay(person.letter_time));
        let model::Person { id, role, depots, name, email, language, zone, version, .. } = person;
        Self {
            id,
            role,
            depots,
            name,
            email,
            language,
            zone,
            quiet_hours,
            letter_days,
            letter_time,
            declined_letters: person.declined_letters,
            version,
        }
    }
}

request! {
    /// A person to be added.
    NewPerson {
        /// The duty.
        role: Role,
        /// Depots the person is concerned with; none means all.
        depots: Many<DepotId, 0, 200>,
        /// The name.
        name: Line<120> = "Ann Holler",
        /// Where letters go; none if the person is to get none.
        email: Option<EmailAddress>,
        /// In which language letters are written; English if none is said.
        language: Option<LanguageTag>,
        /// The zone in which quiet hours are read.
        zone: Tz,
        /// When no letter is delivered.
        quiet_hours: Option<NewQuietHours>,
        /// Days on which letters come, but for what cannot wait; Monday to Friday if none are said.
        letter_days: Option<Many<DayOfWeek, 1, 7>>,
        /// From which hour on, local time; 07:00 if none is said.
        letter_time: Option<TimeOfDay>,
        /// Optional letters the person does without; none if left out.
        declined_letters: Many<OptionalLetter, 0, 10>,
    }
}

request! {
    /// A change to a person; what is left out stays.
    PersonChange {
        /// The duty.
        role: Change<Role>,
        /// Depots the person is concerned with; empty means all.
        depots: Change<Many<DepotId, 0, 200>>,
        /// The name.
        name: Change<Line<120>> = "Ann Holler",
        /// Where letters go; null for no letters.
        email: Change<Option<EmailAddress>>,
        /// In which language letters are written.
        language: Change<LanguageTag>,
        /// The zone in which quiet hours are read.
        zone: Change<Tz>,
        /// When no letter is delivered; null for never.
        quiet_hours: Change<Option<NewQuietHours>>,
        /// Days on which letters come, but for what cannot wait.
        letter_days: Change<Many<DayOfWeek, 1, 7>>,
        /// From which hour on, local time.
        letter_time: Change<TimeOfDay>,
        /// Optional letters the person does without; empty to get them all.
        declined_letters: Change<Many<OptionalLetter, 0, 10>>,
    }
}

answer! {
    /// A person whom no letter reaches: a relay said for good that the address takes none. What is to be told to the person
    /// stands in the list only.
    UnreachablePerson {
        /// Who.
        person: PersonId,
        /// Since when.
        since: DateTime<Utc>,
        /// What the relay said, without the address.
        reply: String = "550 5.1.1 unknown",
    }
}

request! {
    /// That a person's address takes mail again.
    AddressRelease {
        /// Why that is so. It is kept.
        reason: Line<200> = "The provider has mended the mailbox.",
    }
}

answer! {
    /// An access key, without its text.
    AccessKey {
        /// Its id.
        id: KeyId,
        /// Whom it was made for.
        kind: KeyKind,
        /// The person it belongs to.
        person: Option<PersonId>,
        /// The one vehicle it is bound to.
        vehicle: Option<VehicleId>,
        /// What it is called.
        label: String = "Phone of the early shift",
        /// What it may do.
        scopes: Vec<Scope>,
        /// When it was made.
        recorded_at: DateTime<Utc>,
        /// When it ends by itself.
        expires_at: Option<DateTime<Utc>> = "2027-11-02T08:15:00Z",
        /// When it was revoked.
        revoked_at: Option<DateTime<Utc>> = null,
    }
}

answer! {
    /// An access key just made, with its text.
    IssuedAccessKey {
        /// The key.
        key: AccessKey,
        /// What to send as `Authorization: Bearer`. Shown this once and kept nowhere: null when the request is sent
        /// again.
        text: Option<String> = "ostler_device_…",
    }
}

request! {
    /// An access key to be made.
    NewAccessKey {
        /// Whom it is for.
        kind: KeyKind,
        /// The person it belongs to.
        person: Option<PersonId>,
        /// The one vehicle it is bound to: it reaches nothing else.
        vehicle: Option<VehicleId>,
        /// What it is called.
        label: Line<120> = "Phone of the early shift",
        /// What it may do.
        scopes: Many<Scope, 1, 5>,
        /// When it ends by itself.
        expires_at: Option<DateTime<Utc>> = "2027-11-02T08:15:00Z",
    }
}
