//! What becomes of a window when the vehicle changes hands.

use super::{Outlook, second_hand};
use crate::explain::WindowStart;
use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, once_over};
use chrono::NaiveDate;
use model::horizon::{Cycle, DueItem, ItemKey, ItemKind, Timeline};
use model::{CoverageWindow, Transfer, add_days};

/// Where the terms set no deadline for telling, it should be done so many days after the vehicle came (house setting,
/// no source).
const TELL_WITHIN_DAYS: u32 = 14;

/// What the change of hands means for a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hands {
    /// Nothing: the vehicle came new, the window began later, or it goes along.
    Kept,
    /// It ended; this was its last day.
    Ended(NaiveDate),
    /// Its giver has to be told.
    OnNotice {
        /// By this day.
        by: NaiveDate,
        /// Days from acquisition that the terms allow; `None` where they set no deadline.
        within_days: Option<u32>,
        /// The day on which the giver was told.
        told_on: Option<NaiveDate>,
    },
}

impl Hands {
    pub(crate) fn of(
        known: &Known<'_>,
        window: &CoverageWindow,
        starts_on: NaiveDate,
        start: WindowStart,
    ) -> Self {
        let vehicle = &known.facts.vehicle;
        // A window that began under this owner, as for a part replaced here, has not changed hands.
        let is_older = starts_on < vehicle.acquired_on || !start.is_proven();
        if !second_hand(vehicle) || !is_older {
            return Self::Kept;
        }
        let terms = &window.terms;
        match terms.transfer {
            Transfer::Automatic => Self::Kept,
            Transfer::Ends => Self::Ended(add_days(vehicle.acquired_on, -1)),
            Transfer::OnNotice => {
                let within_days = terms.transfer_within_days;
                let days = within_days.unwrap_or(TELL_WITHIN_DAYS);
                let by = add_days(vehicle.acquired_on, i64::from(days));
                Self::OnNotice { by, within_days, told_on: terms.transferred_on }
            }
        }
    }

    /// The last day, where the change of hands ended it.
    pub(crate) fn last_day(self) -> Option<NaiveDate> {
        match self {
            Self::Ended(last_day) => Some(last_day),
            Self::Kept | Self::OnNotice { .. } => None,
        }
    }
}

/// The duty to tell the giver of the change of hands; gone once that is done or nothing is left to save.
pub(crate) fn notice_item(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<DueItem> {
    let Hands::OnNotice { by, within_days, told_on: None } = outlook.hands else { return None };
    if outlook.was_over(known) || outlook.is_run_out() {
        return None;
    }
    let timeline = Timeline {
        approaching: Some(from_start_of(known.facts.vehicle.acquired_on, known.zone)),
        due: Some(from_start_of(by, known.zone)),
        overdue: Some(once_over(by, known.zone)),
    };
    Some(DueItem {
        key: ItemKey(format!("transfer:{}", outlook.window.id)),
        cycle: Cycle(outlook.key().0),
        kind: ItemKind::Transfer,
        title: format!("Tell of the change of hands: {}", outlook.window.terms.title),
        timeline,
        do_not_drive_from: None,
        // Only a deadline of the terms is a limit; a day of our own choosing is none.
        date_limit: within_days.map(|_| by),
        odometer_limit: None,
        hours_limit_seconds: None,
        crossing: None,
        grade: None,
        covers: Vec::new(),
        authority: None,
        caution: None,
        marks: marks_of(&timeline, None),
    })
}
