//! The kinds of letters, and what each is made from.

use crate::about::About;
use crate::line::VehicleLine;
use chrono::{DateTime, NaiveDate, Utc};
use model::LetterKind;

/// What a letter tells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Content {
    /// What cannot wait: a vehicle must not be driven, or work just done wants following up today.
    AtOnce(Listing),
    /// The notices of a delivery.
    Notices(Listing),
    /// A manager's overview on Monday; optional.
    WeekAhead(WeekAhead),
    /// A technician's overview of the next day; optional.
    DayAhead(DayAhead),
    /// A link that signs in.
    SignIn(SignIn),
    /// A letter that shows that an address works.
    AddressTest,
}

/// Vehicles, and what is told of each.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Listing {
    /// Whom to ring about a vehicle that must not be driven; none: the fleet manager, without a name.
    pub ring: Option<String>,
    /// What is said of each vehicle, in order; see [`crate::vehicle_lines`].
    pub lines: Vec<VehicleLine>,
}

/// A manager's overview of the week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WeekAhead {
    /// The Monday.
    pub monday: NaiveDate,
    /// How the fleet stands.
    pub tally: Tally,
    /// People whom no letter reaches.
    pub unreachable: Vec<Unreachable>,
    /// Whom to ring about a vehicle that must not be driven.
    pub ring: Option<String>,
    /// What is said of each vehicle, in order.
    pub lines: Vec<VehicleLine>,
    /// The link that ends these letters.
    pub unsubscribe: Option<String>,
}

/// Somebody whose address takes no mail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreachable {
    /// The name.
    pub name: String,
    /// Since which day.
    pub since: NaiveDate,
    /// What the relay said.
    pub reply: String,
}

/// How a fleet stands, in numbers; what is zero is not mentioned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Vehicles that must not be driven.
    pub do_not_drive: u32,
    /// Items overdue.
    pub overdue: u32,
    /// Vehicles off the road.
    pub off_road: u32,
    /// Readings and measurements held until somebody decides.
    pub held: u32,
    /// Odometer readings wanted.
    pub readings_wanted: u32,
}

/// A technician's overview of the next day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayAhead {
    /// The day.
    pub day: NaiveDate,
    /// Whom to ring about a vehicle that must not be driven.
    pub ring: Option<String>,
    /// What is to be seen to, depot by depot.
    pub depots: Vec<DepotLines>,
    /// The link that ends these letters.
    pub unsubscribe: Option<String>,
}

/// The vehicles of one depot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DepotLines {
    /// Its name.
    pub depot: String,
    /// What is to be seen to on each vehicle, in order.
    pub lines: Vec<VehicleLine>,
}

/// Signing in by a letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignIn {
    /// The link, whose page shows a button.
    pub link: String,
    /// Until when it is good.
    pub good_until: DateTime<Utc>,
}

impl Content {
    /// The kind of letter.
    pub const fn kind(&self) -> LetterKind {
        match self {
            Self::AtOnce(_) => LetterKind::AtOnce,
            Self::Notices(_) => LetterKind::Notices,
            Self::WeekAhead(_) => LetterKind::WeekAhead,
            Self::DayAhead(_) => LetterKind::DayAhead,
            Self::SignIn(_) => LetterKind::SignIn,
            Self::AddressTest => LetterKind::AddressTest,
        }
    }

    /// Whether the reader may do without it, and can say so by a link.
    pub const fn is_optional(&self) -> bool {
        matches!(self, Self::WeekAhead(_) | Self::DayAhead(_))
    }

    /// Whether there is nothing to say: such a letter is not written.
    pub fn is_empty(&self) -> bool {
        let says_something = |line: &VehicleLine| !line.items.is_empty();
        match self {
            Self::AtOnce(listing) | Self::Notices(listing) => !listing.lines.iter().any(says_something),
            Self::WeekAhead(week) => {
                !week.lines.iter().any(says_something)
                    && week.tally == Tally::default()
                    && week.unreachable.is_empty()
            }
            Self::DayAhead(day) => !day.depots.iter().any(|depot| depot.lines.iter().any(says_something)),
            Self::SignIn(_) | Self::AddressTest => false,
        }
    }

    /// All lines of vehicles, in order.
    pub(crate) fn lines(&self) -> Vec<&VehicleLine> {
        match self {
            Self::AtOnce(listing) | Self::Notices(listing) => listing.lines.iter().collect(),
            Self::WeekAhead(week) => week.lines.iter().collect(),
            Self::DayAhead(day) => day.depots.iter().flat_map(|depot| &depot.lines).collect(),
            Self::SignIn(_) | Self::AddressTest => Vec::new(),
        }
    }

    /// Whom to ring.
    pub(crate) fn ring(&self) -> Option<&str> {
        match self {
            Self::AtOnce(listing) | Self::Notices(listing) => listing.ring.as_deref(),
            Self::WeekAhead(week) => week.ring.as_deref(),
            Self::DayAhead(day) => day.ring.as_deref(),
            Self::SignIn(_) | Self::AddressTest => None,
        }
    }

    /// The link that ends letters of this kind.
    pub(crate) fn unsubscribe(&self) -> Option<&str> {
        match self {
            Self::WeekAhead(week) => week.unsubscribe.as_deref(),
            Self::DayAhead(day) => day.unsubscribe.as_deref(),
            Self::AtOnce(_) | Self::Notices(_) | Self::SignIn(_) | Self::AddressTest => None,
        }
    }

    /// The item that letters about the same thing stand together by.
    pub(crate) fn thread(&self) -> Option<&About> {
        let (Self::AtOnce(listing) | Self::Notices(listing)) = self else { return None };
        listing.lines.iter().find_map(|line| line.items.first()).map(|item| &item.about)
    }
}
