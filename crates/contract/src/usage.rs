//! How a vehicle is driven, how its engine runs and how its parts wear.

use crate::define::answer;
use crate::horizon::Band;
use crate::quantity::Quantity;
use crate::reason::Reason;
use ::quantity::{Distance, Entered, Unit};
use chrono::{DateTime, Utc};
use model::horizon::{RunningOutlook, UsageOutlook, WearOutlook};
use model::{Code, ComponentId, FitLevel, Place, ReadingId};

answer! {
    /// How the vehicle is used, as far as its readings tell.
    Usage {
        /// The last counted reading.
        reading: ReadingId,
        /// When it was read.
        read_at: DateTime<Utc>,
        /// What it said.
        odometer: Quantity,
        /// Expected distance an operating day.
        per_operating_day: Quantity = {"value": 112.5, "unit": "km"},
        /// How many gaps between readings it rests on.
        gaps: u32 = 14,
        /// Whose data the estimate started from.
        prior: FitLevel,
    }
}

impl Usage {
    /// The usage with distances in the unit of the vehicle's odometer.
    pub fn of(usage: &UsageOutlook, unit: Unit) -> Self {
        Self {
            reading: usage.anchor,
            read_at: usage.anchored_at,
            odometer: usage.odometer.to(unit).into(),
            per_operating_day: Distance::nearest_km(usage.km_per_day).to(unit).into(),
            gaps: usage.gaps,
            prior: usage.prior.fit.level,
        }
    }
}

answer! {
    /// How the engine runs, as far as its hour meter tells.
    Running {
        /// The last counted reading.
        reading: ReadingId,
        /// When it was read.
        read_at: DateTime<Utc>,
        /// What it said.
        hours: Quantity = {"value": 1812.5, "unit": "h"},
        /// Expected running time an operating day.
        per_operating_day: Quantity = {"value": 4.2, "unit": "h"},
        /// How many gaps between readings it rests on.
        gaps: u32 = 14,
        /// Whose data the estimate started from.
        prior: FitLevel,
    }
}

impl From<&RunningOutlook> for Running {
    fn from(running: &RunningOutlook) -> Self {
        Self {
            reading: running.anchor,
            read_at: running.anchored_at,
            hours: Entered::from_exact(running.seconds, Unit::Hour).into(),
            per_operating_day: Entered::new(running.hours_per_day, Unit::Hour).into(),
            gaps: running.gaps,
            prior: running.prior.fit.level,
        }
    }
}

answer! {
    /// Three quantiles of a distance: 10, 50 and 90 percent. A null one is never met.
    DistanceBand {
        /// One in ten is shorter.
        early: Option<Quantity> = {"value": 5200, "unit": "km"},
        /// As likely shorter as longer.
        likely: Option<Quantity> = {"value": 6400, "unit": "km"},
        /// One in ten is longer.
        late: Option<Quantity> = {"value": 7900, "unit": "km"},
    }
}

answer! {
    /// When a fitted component meets its limit.
    Wear {
        /// The component.
        component: ComponentId,
        /// What it is.
        kind: Code = "tyre",
        /// Where it is fitted.
        place: Place,
        /// The check point that measures it.
        point: Code = "tread-depth",
        /// How many measurements the forecast rests on.
        measurements: u32 = 5,
        /// Depth expected at the last counted reading.
        depth: Quantity = {"value": 4.1, "unit": "mm"},
        /// The limit it is judged by.
        limit: Quantity = {"value": 1.6, "unit": "mm"},
        /// Wear expected at this place over `per`.
        wear: Quantity = {"value": 0.12, "unit": "mm"},
        /// A thousand of the unit the vehicle's odometer shows.
        per: Quantity = {"value": 1000, "unit": "km"},
        /// Distance to the limit from the last counted reading.
        left: DistanceBand,
        /// The days on which the limit is met.
        crossing: Band,
        /// The steps from the measurements to those days, in order.
        because: Vec<Reason>,
    }
}

impl Wear {
    /// The outlook with distances in the unit of the vehicle's odometer.
    pub fn of(wear: &WearOutlook, unit: Unit, because: Vec<Reason>) -> Self {
        let millimetres = |value: f64| Quantity::from(Entered::new(value, Unit::Millimetre));
        let [early, likely, late] =
            wear.km_left.map(|km| km.map(|km| Quantity::from(Distance::nearest_km(km).to(unit))));
        let per = Entered::new(1000.0, unit);
        let thousands_of_km = Distance::parse(per).map_or(1.0, |per| per.km() / 1000.0);
        Self {
            component: wear.component,
            kind: wear.kind.clone(),
            place: wear.place,
            point: wear.point.clone(),
            measurements: wear.measurements,
            depth: millimetres(wear.depth_mm),
            limit: millimetres(wear.limit_mm),
            wear: millimetres(wear.mm_per_1000_km * thousands_of_km),
            per: per.into(),
            left: DistanceBand { early, likely, late },
            crossing: wear.crossing.into(),
            because,
        }
    }
}
