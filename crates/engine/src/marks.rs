//! The marks of a horizon, and which comes first.

use chrono::{DateTime, Utc};
use model::horizon::{Cycle, Horizon, ItemKey, Mark};

/// All marks of `horizon` with the item or window they belong to: items first, then windows, each in its own order.
pub fn marks(horizon: &Horizon) -> impl Iterator<Item = (&ItemKey, &Cycle, &Mark)> {
    let of_items = horizon
        .items
        .iter()
        .flat_map(|item| item.marks.iter().map(move |mark| (&item.key, &item.cycle, mark)));
    let of_windows = horizon
        .windows
        .iter()
        .flat_map(|window| window.marks.iter().map(move |mark| (&window.key, &window.cycle, mark)));
    of_items.chain(of_windows)
}

/// The moment of the earliest mark of all.
pub fn first_mark(horizon: &Horizon) -> Option<DateTime<Utc>> {
    marks(horizon).map(|(_, _, mark)| mark.at).min()
}

/// The moment of the earliest mark later than `after`.
pub fn first_mark_after(horizon: &Horizon, after: DateTime<Utc>) -> Option<DateTime<Utc>> {
    marks(horizon).map(|(_, _, mark)| mark.at).filter(|at| *at > after).min()
}
