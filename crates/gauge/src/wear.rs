//! Which parts wear, how fast until the fleet's own tell, and the depth at which they ask for work.

use crate::axle::Axle;
use crate::limit::Standing;
use crate::lining::BrakeKind;
use crate::pads::PADS;
use crate::shoes::SHOES;
use crate::tread::{self, TyreKind};
use crate::yardstick::Yardstick;
use model::Place;
use quantity::Depth;

/// A check point that measures how much is left of a part that wears.
///
/// Rates and spread stand in until the fleet's own components tell better ones.
#[derive(Debug)]
pub struct WearPoint {
    /// Code of the check point.
    pub point: &'static str,
    /// Kind of the component it measures.
    pub kind: &'static str,
    /// Wear over 1,000 km on the front axle, mm.
    pub front_mm_per_1000_km: f64,
    /// Wear over 1,000 km on the rear axle, mm.
    pub rear_mm_per_1000_km: f64,
    /// Spread (standard deviation) of the components' pace around 1, without unit.
    pub tau: f64,
    /// A measurement better than the last by more than this is no error of the gauge.
    pub gauge_error: Depth,
    /// Who says so.
    pub source: &'static str,
    /// How well that source is known.
    pub standing: Standing,
    attend: fn(&Yardstick<'_>, Place, MadeAs) -> WearLimit,
}

/// A depth down to which a part may wear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WearLimit {
    /// The depth.
    pub depth: Depth,
    /// Who says so.
    pub source: String,
    /// How well that source is known.
    pub standing: Standing,
}

/// What was noted of how a part is made, and its limit hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MadeAs {
    /// The season a tyre is made for: a winter tyre asks for work earlier.
    pub tyre: Option<TyreKind>,
    /// The kind of brake that pads or shoes belong to: some of commercial vehicles have a higher floor.
    pub brake: Option<BrakeKind>,
}

fn tread_attend_limit(yardstick: &Yardstick<'_>, place: Place, made_as: MadeAs) -> WearLimit {
    match made_as.tyre {
        Some(TyreKind::Winter) => tread::winter_attend_limit(yardstick, place),
        Some(TyreKind::Summer | TyreKind::AllSeason) | None => tread::attend_limit(yardstick, place),
    }
}

fn pads_attend_limit(yardstick: &Yardstick<'_>, place: Place, made_as: MadeAs) -> WearLimit {
    PADS.attend_limit(yardstick, place, made_as.brake)
}

fn shoes_attend_limit(yardstick: &Yardstick<'_>, place: Place, made_as: MadeAs) -> WearLimit {
    SHOES.attend_limit(yardstick, place, made_as.brake)
}

static POINTS: [WearPoint; 3] = [
    WearPoint {
        point: "tread-depth",
        kind: "tyre",
        front_mm_per_1000_km: 0.16,
        rear_mm_per_1000_km: 0.09,
        tau: 0.3,
        gauge_error: Depth::from_nm(800_000),
        source: "house setting for wear of tread, no source",
        standing: Standing::CommonPractice,
        attend: tread_attend_limit,
    },
    WearPoint {
        point: "pad-thickness",
        kind: "pad-set",
        front_mm_per_1000_km: 0.15,
        rear_mm_per_1000_km: 0.10,
        tau: 0.3,
        gauge_error: Depth::from_nm(1_000_000),
        source: "house setting for wear of pads, no source",
        standing: Standing::CommonPractice,
        attend: pads_attend_limit,
    },
    WearPoint {
        point: "shoe-thickness",
        kind: "shoe-set",
        front_mm_per_1000_km: 0.05,
        rear_mm_per_1000_km: 0.03,
        tau: 0.3,
        gauge_error: Depth::from_nm(500_000),
        source: "house setting for wear of shoes, no source",
        standing: Standing::CommonPractice,
        attend: shoes_attend_limit,
    },
];

/// Every check point that measures wear.
pub fn wear_points() -> &'static [WearPoint] {
    &POINTS
}

/// The check point that measures the wear of components of this kind.
pub fn wear_point_of(kind: &str) -> Option<&'static WearPoint> {
    POINTS.iter().find(|point| point.kind == kind)
}

impl WearPoint {
    /// Wear over 1,000 km at a place, mm; `None` for the spare, which does not wear.
    pub const fn mm_per_1000_km(&self, place: Place) -> Option<f64> {
        match Axle::of(place) {
            Some(Axle::Front) => Some(self.front_mm_per_1000_km),
            Some(Axle::Rear) => Some(self.rear_mm_per_1000_km),
            None => None,
        }
    }

    /// The depth at which a part at this place asks for work, where its grade becomes `attend`, as far as is known how it is
    /// made.
    pub fn attend_limit(&self, yardstick: &Yardstick<'_>, place: Place, made_as: MadeAs) -> WearLimit {
        (self.attend)(yardstick, place, made_as)
    }

    /// Whether the step from `before` to `now`, depths in nanometres, is too much of an improvement for an error of the gauge.
    pub fn is_better(&self, before: i64, now: i64) -> bool {
        now - before > self.gauge_error.nm()
    }
}
