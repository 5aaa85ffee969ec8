//! The steps of what grows old, as sentences.

use super::{counted, day, distance, grade};
use crate::explain::{AgeStep, Instead, Started};
use quantity::Unit;

/// One or two sentences for a step; distances in `unit`.
pub(super) fn sentence(step: &AgeStep, unit: Unit) -> String {
    match step {
        AgeStep::DateCode { read_on, code, made_in, .. } => {
            format!("Date code {code}, read on {}: made in the week of {}.", day(*read_on), day(*made_in))
        }
        AgeStep::Reaches { on, grade: found, limit, source, standing } => {
            let found = found.map_or("advice only", grade);
            format!("Age in years {limit} from {}: {found}. Source: {source} ({standing}).", day(*on))
        }
        AgeStep::LastDay { last_day } => {
            format!("The last day before it is to be replaced: {}.", day(*last_day))
        }
        AgeStep::Changed { by, on, odometer } => {
            let how = match by {
                Started::Service(_) => "by service record",
                Started::Fitting(_) => "by its fitting",
            };
            let at =
                odometer.map_or_else(String::new, |odometer| format!(" at {}", distance(odometer, unit)));
            format!("Last changed on {}{at}, {how}.", day(*on))
        }
        AgeStep::UsualLife { months, distance: far, source, standing } => {
            let far = far.map_or_else(String::new, |far| format!(" or {}", distance(far, unit)));
            format!(
                "No rule of the fleet says when it is due; usual are {}{far}. Source: {source} ({standing}).",
                counted(*months, "month")
            )
        }
        AgeStep::Instead { instead: Instead::BeforePollen { last_day } } => {
            format!("The pollen comes before that: better changed by {}.", day(*last_day))
        }
        AgeStep::Instead { instead: Instead::Measured { on, months, until } } => format!(
            "Its boiling point was measured on {}, which serves for {}: until {}.",
            day(*on),
            counted(*months, "month"),
            day(*until)
        ),
    }
}
