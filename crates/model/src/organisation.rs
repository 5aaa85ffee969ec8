//! Who owns what: fleets, depots, people, workshops, and who may do what.

use crate::calendar::Weekdays;
use crate::coded::worded;
use crate::ids::{DepotId, FleetId, KeyId, PersonId, WorkshopId};
use crate::notice::OptionalLetter;
use chrono::NaiveTime;
use chrono_tz::Tz;
use quantity::Temperature;
use serde::{Deserialize, Serialize};

worded! {
    /// Whose law applies to vehicles of a depot.
    Jurisdiction {
        /// United States, federal.
        Us = "us",
        /// United Kingdom.
        Uk = "uk",
        /// European Union.
        Eu = "eu",
    }
}

worded! {
    /// A person's duty.
    Role {
        /// Keeps the list, reads the letters.
        Manager = "manager",
        /// Measures and repairs.
        Technician = "technician",
        /// Drives and reports.
        Driver = "driver",
        /// Looks, changes nothing.
        Viewer = "viewer",
    }
}

worded! {
    /// What an access key may do.
    Scope {
        /// Look at everything of the fleet.
        Read = "read",
        /// Post inspections, measurements and readings.
        Measure = "measure",
        /// A driver's report on one vehicle.
        Report = "report",
        /// Change the fleet: vehicles, rules, services, papers, coverage, decisions.
        Manage = "manage",
        /// People, keys, the fleet's own settings.
        Admin = "admin",
    }
}

worded! {
    /// What kind of holder an access key was made for; part of its text.
    KeyKind {
        /// A person's key.
        Person = "person",
        /// A phone's or device's key.
        Device = "device",
        /// A script's key.
        Script = "script",
    }
}

worded! {
    /// What sort of actor an act is recorded under.
    ActorKind {
        /// Somebody who was let in: by an access key or, where none is named, by a signed link.
        Key = "key",
        /// The operator at the command line.
        Operator = "operator",
        /// The program's own scheduler or courier.
        Program = "program",
    }
}

worded! {
    /// What a workshop is.
    WorkshopKind {
        /// The fleet's own bay.
        OwnBay = "own_bay",
        /// A dealer, who can make warranty good.
        Dealer = "dealer",
        /// An independent workshop.
        Independent = "independent",
        /// One that comes to the vehicle.
        Mobile = "mobile",
    }
}

impl Role {
    /// Whether somebody of this duty may say to have seen a reminder and see to it.
    pub const fn may_acknowledge(self) -> bool {
        match self {
            Self::Manager | Self::Technician | Self::Driver => true,
            Self::Viewer => false,
        }
    }

    /// Whether somebody of this duty may put a reminder off, which moves it for everybody.
    pub const fn may_postpone(self) -> bool {
        match self {
            Self::Manager => true,
            Self::Technician | Self::Driver | Self::Viewer => false,
        }
    }
}

/// A fleet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fleet {
    /// Its id.
    pub id: FleetId,
    /// Its name.
    pub name: String,
    /// How many acts have been committed; each act takes the next number.
    pub sequence: i64,
}

/// A depot: where vehicles stand, in one time zone and under one law.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Depot {
    /// Its id.
    pub id: DepotId,
    /// Its name.
    pub name: String,
    /// Its IANA time zone; civil dates of its vehicles are read in it.
    pub zone: Tz,
    /// Whose law applies.
    pub jurisdiction: Jurisdiction,
    /// The coldest its vehicles must stand without harm, where somebody has said.
    pub design_low: Option<Temperature>,
    /// Version, raised by each change.
    pub version: i64,
}

/// A person with duties in a fleet. Personal details are kept apart so that they can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// The id, which outlives the details.
    pub id: PersonId,
    /// The duty.
    pub role: Role,
    /// Depots the person is concerned with; empty means all.
    pub depots: Vec<DepotId>,
    /// Name; empty once erased.
    pub name: String,
    /// Address for letters; none if the person wants or can have none.
    pub email: Option<String>,
    /// Language tag (BCP 47).
    pub language: String,
    /// Zone in which the person's quiet hours are read.
    pub zone: Tz,
    /// From when to when no letter is delivered, local time.
    pub quiet_hours: Option<(NaiveTime, NaiveTime)>,
    /// Days of the week on which letters come, but for what cannot wait.
    pub letter_days: Weekdays,
    /// At which hour of those days, local time.
    pub letter_time: NaiveTime,
    /// Kinds of letters the person does without, in the order of [`OptionalLetter::ALL`].
    pub declined_letters: Vec<OptionalLetter>,
    /// Version, raised by each change.
    pub version: i64,
}

impl Person {
    /// Whether the person does without letters of this kind.
    pub fn declines(&self, letter: OptionalLetter) -> bool {
        self.declined_letters.contains(&letter)
    }
}

/// A workshop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Workshop {
    /// Its id.
    pub id: WorkshopId,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: WorkshopKind,
    /// Working days of notice it needs.
    pub lead_days: u32,
    /// Whether it does work that a warranty pays for.
    pub warranty_work: bool,
    /// Days of the week on which it works.
    pub working_weekdays: Weekdays,
    /// Version, raised by each change.
    pub version: i64,
}

/// Who does an act: recorded with every fact.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Actor {
    /// What sort of actor.
    pub kind: ActorKind,
    /// The key used, if one was.
    pub key: Option<KeyId>,
    /// The person the key belongs to, if it belongs to one.
    pub person: Option<PersonId>,
    /// From where: "api", "cli", "import", "scheduler", "courier", "link".
    pub source: String,
}
