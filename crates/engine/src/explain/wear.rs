//! Steps from what a component went through to the days on which it meets its limit.

use super::written::kilometres;
use super::{NoForecast, Step, forecasting};
use crate::known::Known;
use crate::usage::{Driving, to_nine_digits};
use crate::wear::history::{Measured, Spell};
use crate::wear::{WearAhead, Wearing, title, wearing};
use chrono::NaiveDate;
use forecast::wear::BAND_SCORES;
use forecast::{EARLY, LATE, LIKELY};
use model::{FittingId, MeasurementId, Place, ReadingId};
use quantity::Distance;
use serde::Serialize;

/// One step from measurements to the days of a wear limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum WearStep {
    /// A time in one place, and the wear to be expected of it.
    Spell {
        /// The fitting.
        fitting: FittingId,
        /// Where.
        place: Place,
        /// From this day.
        from: NaiveDate,
        /// Whether it was on another vehicle.
        elsewhere: bool,
        /// Distance driven there, km; until the last counted reading where it is still fitted.
        km: f64,
        /// Wear expected there, mm over 1,000 km.
        mm_per_1000_km: f64,
        /// Wear expected of the distance, mm.
        wear_mm: f64,
    },
    /// Where the rates of wear come from.
    Rates {
        /// Components of the fleet they rest on; 0 for the shipped ones.
        components: u32,
        /// Spread of the components' pace around 1.
        tau: f64,
        /// Who says so, of shipped ones.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// A measurement and the wear expected by then.
    Measured {
        /// The lowest measurement of that occasion.
        measurement: MeasurementId,
        /// When.
        on: NaiveDate,
        /// What the odometer showed then, or what had been driven since its fitting on another vehicle.
        #[serde(serialize_with = "kilometres")]
        odometer: Distance,
        /// Whether it was on another vehicle.
        elsewhere: bool,
        /// Whether that odometer is an estimate.
        estimated: bool,
        /// Depth measured, mm.
        depth_mm: f64,
        /// Wear expected by then, mm.
        wear_mm: f64,
    },
    /// The component's own pace.
    Pace(PaceStep),
    /// The limit it wears down to.
    Limit {
        /// The depth, mm.
        limit_mm: f64,
        /// Who says so.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// Where it stands at the last counted reading.
    Now {
        /// The reading.
        reading: ReadingId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What it said.
        #[serde(serialize_with = "kilometres")]
        odometer: Distance,
        /// Wear expected by then, mm.
        wear_mm: f64,
        /// Depth expected then, mm.
        depth_mm: f64,
    },
    /// The distance left, at one quantile.
    Left {
        /// Probability that the limit is met by then.
        quantile: f64,
        /// The same as a standard normal score.
        score: f64,
        /// Expected wear at which the limit is met, mm.
        limit_wear_mm: f64,
        /// Expected wear by now, mm.
        now_wear_mm: f64,
        /// Expected wear here, mm over 1,000 km.
        mm_per_1000_km: f64,
        /// Distance left, km; below zero where the limit has been passed.
        km: f64,
    },
    /// The day on which the limit is met, at one quantile.
    Day {
        /// Probability that it is met by then.
        quantile: f64,
        /// Operating days from the last counted reading.
        operating_days: f64,
        /// The civil day that is.
        on: NaiveDate,
        /// A line for Python with `numpy` and `scipy` whose value is those days; nothing where the limit has been met.
        check: Option<String>,
    },
    /// The measurements cannot tell wear from none.
    NotTold,
}

/// A component's own pace, and the sums it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PaceStep {
    /// Depth when new, mm, where it is known: the line then goes through it.
    pub new_mm: Option<f64>,
    /// Expected wear at the point the line goes through, mm: 0 when new, else the mean of the measurements.
    pub wear_mm: f64,
    /// Depth there, mm.
    pub depth_mm: f64,
    /// Variance of that depth, square mm.
    pub depth_variance: f64,
    /// Sum of the squares of expected wear from that point on, square mm.
    pub squares: f64,
    /// Sum of its products with the depth gone from that point on, square mm.
    pub products: f64,
    /// Spread of the components' pace around 1.
    pub tau: f64,
    /// Error (standard deviation) of the gauge, mm.
    pub gauge_sd_mm: f64,
    /// The pace: 1 is as expected.
    pub pace: f64,
    /// Its variance.
    pub pace_variance: f64,
}

/// Title and steps of the component with this id, if something can be said of its wear.
pub(crate) fn of_component(known: &Known<'_>, id: &str) -> Option<(String, Vec<Step>)> {
    let all = wearing(known);
    let wearing = all.iter().find(|one| one.component.id.to_string() == id)?;
    let mut steps: Vec<WearStep> = wearing.history.spells.iter().map(spell).collect();
    steps.push(rates(wearing));
    steps.extend(wearing.history.measured.iter().map(|one| measured(known, one)));
    steps.push(WearStep::Pace(pace(wearing)));
    steps.push(limit(wearing));
    let mut steps: Vec<Step> = steps.into_iter().map(Step::Wear).collect();
    if let Some(driving) = &known.driving {
        steps.push(Step::Wear(now(known, wearing, driving)));
        steps.extend(to_the_limit(known, wearing, driving));
    }
    Some((title(wearing), steps))
}

fn spell(spell: &Spell) -> WearStep {
    WearStep::Spell {
        fitting: spell.fitting,
        place: spell.place,
        from: spell.from,
        elsewhere: spell.elsewhere,
        km: to_nine_digits(spell.km),
        mm_per_1000_km: to_nine_digits(spell.mm_per_km * 1000.0),
        wear_mm: to_nine_digits(spell.km * spell.mm_per_km),
    }
}

fn rates(wearing: &Wearing<'_>) -> WearStep {
    WearStep::Rates {
        components: wearing.rates.components,
        tau: wearing.rates.tau,
        source: wearing.point.source.to_owned(),
        standing: wearing.point.standing.word().to_owned(),
    }
}

fn measured(known: &Known<'_>, one: &Measured) -> WearStep {
    let total = Distance::nearest_km(one.stand.km);
    let shown = Distance::from_mm(total.mm() - known.meters.added_at(one.at));
    WearStep::Measured {
        measurement: one.measurement,
        on: known.day(one.at),
        odometer: if one.elsewhere { total } else { shown },
        elsewhere: one.elsewhere,
        estimated: one.stand.estimated,
        depth_mm: one.depth_mm,
        wear_mm: one.wear_mm,
    }
}

fn pace(wearing: &Wearing<'_>) -> PaceStep {
    let fit = wearing.fit;
    let measured = wearing.history.measured.iter();
    let from_point = measured.map(|one| (one.wear_mm - fit.wear_mm, fit.depth_mm - one.depth_mm));
    let squares = from_point.clone().map(|(wear, _)| wear * wear).sum();
    let products = from_point.map(|(wear, gone)| wear * gone).sum();
    PaceStep {
        new_mm: wearing.history.new_mm,
        wear_mm: fit.wear_mm,
        depth_mm: fit.depth_mm,
        depth_variance: fit.depth_variance,
        squares: to_nine_digits(squares),
        products: to_nine_digits(products),
        tau: wearing.setting.tau,
        gauge_sd_mm: wearing.setting.gauge_sd_mm,
        pace: fit.pace,
        pace_variance: fit.pace_variance,
    }
}

fn limit(wearing: &Wearing<'_>) -> WearStep {
    WearStep::Limit {
        limit_mm: wearing.approach.limit_mm,
        source: wearing.limit.source.clone(),
        standing: wearing.limit.standing.word().to_owned(),
    }
}

fn now(known: &Known<'_>, wearing: &Wearing<'_>, driving: &Driving) -> WearStep {
    WearStep::Now {
        reading: driving.anchor.id,
        on: known.day(driving.anchor.at),
        odometer: known.shown_now(driving.anchor.odometer),
        wear_mm: wearing.approach.wear_now_mm,
        depth_mm: wearing.depth_now_mm(),
    }
}

fn to_the_limit(known: &Known<'_>, wearing: &Wearing<'_>, driving: &Driving) -> Vec<Step> {
    let Some(ahead) = wearing.ahead(driving) else { return vec![Step::Wear(WearStep::NotTold)] };
    let quantiles = [EARLY, LIKELY, LATE];
    let left = quantiles.iter().zip(BAND_SCORES).zip(wearing.km_left());
    let mut steps: Vec<Step> = left
        .filter_map(|((quantile, score), km)| left_step(wearing, *quantile, score, km?))
        .map(Step::Wear)
        .collect();
    steps.push(forecasting::usage(known, driving));
    steps.push(forecasting::width(driving, &ahead.item));
    let band = [ahead.band.early, ahead.band.likely, ahead.band.late];
    let days = quantiles.iter().zip(ahead.days).zip(band);
    let days: Vec<Option<Step>> =
        days.map(|((quantile, days), on)| Some(day_step(&ahead, *quantile, days?, on?))).collect();
    let is_beyond = days.iter().any(Option::is_none);
    steps.extend(days.into_iter().flatten());
    steps.extend(is_beyond.then_some(Step::NoForecast { reason: NoForecast::Beyond }));
    steps
}

fn left_step(wearing: &Wearing<'_>, quantile: f64, score: f64, km: f64) -> Option<WearStep> {
    let approach = wearing.approach;
    Some(WearStep::Left {
        quantile,
        score,
        limit_wear_mm: to_nine_digits(wearing.fit.wear_at_limit(approach.limit_mm, score)?),
        now_wear_mm: approach.wear_now_mm,
        mm_per_1000_km: to_nine_digits(approach.mm_per_km * 1000.0),
        km,
    })
}

fn day_step(ahead: &WearAhead, quantile: f64, days: f64, on: NaiveDate) -> Step {
    let km = ahead.crossing.km.map(|km| if km.is_finite() { km.to_string() } else { "numpy.inf".to_owned() });
    let forecast::Usage { a, shape, scale } = ahead.item.usage;
    let check = (days > 0.0).then(|| {
        format!(
            "scipy.optimize.brentq(lambda h: numpy.mean(scipy.stats.betaprime.sf(numpy.array([{}]) / {scale}, {a} * h, \
             {shape})) - {quantile}, 1e-6, 1e5)",
            km.join(", ")
        )
    });
    Step::Wear(WearStep::Day { quantile, operating_days: to_nine_digits(days), on, check })
}
