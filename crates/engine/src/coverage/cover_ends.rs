//! How old and how far driven a battery may be when its cover ends: whichever limit comes first, at nine paces as likely
//! as each other.

use super::Outlook;
use super::battery::Battery;
use crate::known::Known;
use crate::usage::{Driving, to_nine_digits};
use forecast::capacity::CoverEnd;
use model::day_after;
use quantity::Distance;

/// The middles of nine equal parts of probability, as for the distances of wear.
const PACES: u32 = 9;

/// None where cover has ended by the last counted reading, or ends on no day within ten years.
pub(crate) fn cover_ends(known: &Known<'_>, outlook: &Outlook<'_>, battery: &Battery) -> Vec<CoverEnd> {
    if outlook.is_run_out() {
        return Vec::new();
    }
    let ends = match &known.driving {
        Some(driving) => {
            let paces = (0..PACES).map(|pace| (2.0 * f64::from(pace) + 1.0) / f64::from(2 * PACES));
            paces.map(|quantile| at_pace(known, outlook, battery, (driving, quantile))).collect()
        }
        None => outlook
            .last_day
            .and_then(|last| battery.stand_after(known, last))
            .map(|(years, km)| vec![CoverEnd { years, km }]),
    };
    ends.unwrap_or_default()
}

/// The end for a vehicle that is driven faster with probability `quantile`.
fn at_pace(
    known: &Known<'_>,
    outlook: &Outlook<'_>,
    battery: &Battery,
    (driving, quantile): (&Driving, f64),
) -> Option<CoverEnd> {
    let limit = outlook.odometers.map(|(_, limit)| limit).filter(|_| !outlook.is_lease());
    let anchor = driving.anchor;
    let by_date = match outlook.last_day {
        Some(last) => {
            let end = day_after(last, known.zone);
            if end <= anchor.at {
                return None;
            }
            let days = driving.calendar.days_between(anchor.at, end);
            let driven = to_nine_digits(driving.for_days(days).usage.distance_after(days, 1.0 - quantile));
            Some((last, driven))
        }
        None => None,
    };
    let left = limit.map(|limit: Distance| (limit - anchor.odometer).km());
    let (day, driven) = match (by_date, left) {
        (Some((last, driven)), left) if left.is_none_or(|left| driven < left) => (last, driven),
        (_, Some(left)) => {
            let usage = driving.for_km(left).usage;
            let days = usage.days_until(left, quantile, driving.most_days());
            let day = driving.day_after(days)?;
            // The two ways of asking may differ by a day in the last digit; the calendar has the last word.
            (outlook.last_day.map_or(day, |last| last.min(day)), left)
        }
        (_, None) => return None,
    };
    let (years, km) = battery.stand_at(known, day, anchor.odometer.km() + driven)?;
    Some(CoverEnd { years, km })
}
