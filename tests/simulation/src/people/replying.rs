//! Replies to reminders.

use super::Answer;
use crate::dice::Dice;
use crate::fleet::{Van, day_of};
use chrono::{DateTime, NaiveDate, Utc};
use clerk::{Act, ActError};
use model::{NoticeId, add_days};

/// A reply to a reminder.
#[derive(Debug, Clone)]
pub enum Reply {
    /// It was seen.
    Seen { notice: NoticeId },
    /// It is wanted later.
    Later { notice: NoticeId, until: NaiveDate },
}

impl Reply {
    /// What it is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Seen { .. } => "acknowledge",
            Self::Later { .. } => "postpone",
        }
    }

    pub(super) async fn perform(self, act: &mut Act) -> Result<Answer, ActError> {
        match self {
            Self::Seen { notice } => {
                clerk::replies::acknowledge(act, notice, None).await.map(|_| Answer::default())
            }
            Self::Later { notice, until } => {
                let put_off = clerk::replies::postpone(act, notice, until, "parts come later".to_owned());
                put_off.await.map(|_| Answer::default())
            }
        }
    }
}

/// A reply to one of the vehicle's latest reminders.
pub(super) fn any(dice: &Dice, van: &Van, now: DateTime<Utc>, wanted: &str) -> Option<Reply> {
    let latest = van.notices.len().saturating_sub(6);
    let latest = &van.notices[latest..];
    if latest.is_empty() {
        return None;
    }
    let notice = *dice.pick(latest);
    match wanted {
        "acknowledge" => Some(Reply::Seen { notice }),
        "postpone" => {
            let days = i64::try_from(dice.between(1, 30)).unwrap_or(1);
            // A day of people's is the one before in every zone.
            Some(Reply::Later { notice, until: add_days(day_of(now), days + 2) })
        }
        _ => None,
    }
}
