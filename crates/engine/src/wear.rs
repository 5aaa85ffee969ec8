//! When fitted components meet their limits: depth over distance, through every place they were fitted.

mod elsewhere;
pub(crate) mod history;
pub(crate) mod odometer;
mod rates;
mod worn;

pub use elsewhere::component_histories;
pub(crate) use odometer::at_inspection;
pub use worn::{WornComponent, worn_components};

use crate::known::Known;
use crate::questions::believed;
use crate::usage::{Driving, ItemUsage, to_nine_digits};
use forecast::Band3;
use forecast::wear::{
    Approach, BAND_SCORES, Crossing, Fit, GaugeReading, PAD_GAUGE_SD_MM, Setting, Start, TREAD_GAUGE_SD_MM,
};
use gauge::{
    BrakeKind, DepthSet, MadeAs, Noted, TyreKind, WearLimit, WearPoint, depth_sets, series, wear_point_of,
};
use history::History;
use model::horizon::{Band, WearOutlook};
use model::{Code, Component, Fitting, Place};
use rates::Rates;

/// A component fitted now, with all that its forecast rests on.
#[derive(Debug)]
pub(crate) struct Wearing<'a> {
    pub(crate) component: &'a Component,
    pub(crate) fitting: &'a Fitting,
    pub(crate) point: &'static WearPoint,
    pub(crate) rates: Rates,
    pub(crate) history: History,
    pub(crate) setting: Setting,
    pub(crate) fit: Fit,
    pub(crate) limit: WearLimit,
    pub(crate) approach: Approach,
}

/// When components meet their limits, in the order of place, kind and component.
pub(crate) fn outlooks(known: &Known<'_>) -> Vec<WearOutlook> {
    let mut outlooks: Vec<WearOutlook> = wearing(known).iter().map(|one| one.outlook(known)).collect();
    outlooks.sort_by(|one, other| {
        (one.place, &one.kind, one.component).cmp(&(other.place, &other.kind, other.component))
    });
    outlooks
}

/// The components fitted now of which something can be said.
pub(crate) fn wearing<'a>(known: &Known<'a>) -> Vec<Wearing<'a>> {
    let fitted = known.facts.fittings.iter().filter(|fitting| fitting.to.is_none());
    let mut fitted = fitted.peekable();
    if fitted.peek().is_none() {
        return Vec::new();
    }
    let believed = believed(known.facts);
    let sets = depth_sets(&believed);
    let kinds = Kinds { tyres: series("tyre-kind", &believed), brakes: series("brake-kind", &believed) };
    fitted.filter_map(|fitting| Wearing::of(known, fitting, &sets, &kinds)).collect()
}

/// What was noted of how parts are made, in the order of time.
struct Kinds<'a> {
    tyres: Vec<Noted<'a>>,
    brakes: Vec<Noted<'a>>,
}

impl Kinds<'_> {
    /// As the part in this fitting is graded: by what was last noted of a tyre since it came there, of a brake ever.
    fn made_as(&self, known: &Known<'_>, fitting: &Fitting) -> MadeAs {
        let is_of_it = |noted: &Noted<'_>| known.day(noted.inspection.performed_at) >= fitting.from;
        let tyre = last_at(&self.tyres, fitting.place).filter(is_of_it).and_then(|noted| noted.word());
        let brake = last_at(&self.brakes, fitting.place).and_then(|noted| noted.word());
        MadeAs { tyre: tyre.and_then(TyreKind::from_word), brake: brake.and_then(BrakeKind::from_word) }
    }
}

/// What was last noted at a place.
fn last_at<'a>(noted: &[Noted<'a>], place: Place) -> Option<Noted<'a>> {
    noted.iter().rev().find(|noted| noted.value.place == place).copied()
}

impl<'a> Wearing<'a> {
    /// `None` for what does not wear there, and where neither a depth nor a reading to begin with is known.
    fn of(known: &Known<'a>, fitting: &'a Fitting, sets: &[DepthSet<'_>], kinds: &Kinds<'_>) -> Option<Self> {
        let component = known.facts.components.iter().find(|one| one.id == fitting.component)?;
        let point = wear_point_of(component.kind.as_str())?;
        let rates = Rates::of(known.facts, component, point);
        let mm_per_km = rates.mm_per_km(fitting.place);
        if mm_per_km <= 0.0 {
            return None;
        }
        let history = history::of(known, component, point, &rates, sets)?;
        let setting = Setting { tau: rates.tau, gauge_sd_mm: gauge_sd_mm(point) };
        let fit = rounded(fit_of(&history, &setting)?);
        let limit = point.attend_limit(&known.yardstick(), fitting.place, kinds.made_as(known, fitting));
        let wear_now_mm = to_nine_digits(history.wear_now_mm);
        let approach = Approach { limit_mm: limit.depth.mm(), wear_now_mm, mm_per_km };
        Some(Self { component, fitting, point, rates, history, setting, fit, limit, approach })
    }

    fn outlook(&self, known: &Known<'_>) -> WearOutlook {
        WearOutlook {
            component: self.component.id,
            kind: self.component.kind.clone(),
            place: self.fitting.place,
            point: Code::new(self.point.point).expect("check points have codes; a test reads them all"),
            measurements: u32::try_from(self.history.measured.len()).unwrap_or(u32::MAX),
            depth_mm: self.depth_now_mm(),
            limit_mm: self.approach.limit_mm,
            mm_per_1000_km: to_nine_digits(self.fit.pace * self.approach.mm_per_km * 1000.0),
            km_left: self.km_left(),
            crossing: known.driving.as_ref().map_or_else(Band::default, |driving| self.band(driving)),
        }
    }

    /// Depth expected at the last counted reading, mm.
    pub(crate) fn depth_now_mm(&self) -> f64 {
        to_nine_digits(self.fit.depth_at(self.approach.wear_now_mm))
    }

    /// Distance to the limit from the last counted reading, km: early, likely and late.
    pub(crate) fn km_left(&self) -> [Option<f64>; 3] {
        BAND_SCORES.map(|score| self.approach.km(&self.fit, score).map(to_nine_digits))
    }

    /// The distances to the limit at nine middle quantiles, each as likely as any other.
    fn crossing(&self) -> Option<Crossing> {
        let mut crossing = forecast::wear::crossing(&self.fit, &self.approach)?;
        for km in crossing.km.iter_mut().filter(|km| km.is_finite()) {
            *km = to_nine_digits(*km);
        }
        Some(crossing)
    }

    /// When the limit is met; nothing where wear cannot be told from none.
    pub(crate) fn ahead(&self, driving: &Driving) -> Option<WearAhead> {
        let crossing = self.crossing()?;
        // As for every other item the width is that of its likely day: here that of the middle distance.
        let item = driving.for_km(crossing.km[4]);
        let Band3 { early, likely, late } = crossing.days_band(&item.usage, driving.most_days());
        let days = [early, likely, late];
        let [early, likely, late] = days.map(|days| driving.day_after(days));
        Some(WearAhead { crossing, item, days, band: Band { early, likely, late } })
    }

    fn band(&self, driving: &Driving) -> Band {
        self.ahead(driving).map_or_else(Band::default, |ahead| ahead.band)
    }
}

/// When a limit is met.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WearAhead {
    /// The distances it may take, each as likely as any other.
    pub(crate) crossing: Crossing,
    /// The usage by which they are driven.
    pub(crate) item: ItemUsage,
    /// Operating days from the last counted reading: early, likely and late.
    pub(crate) days: [Option<f64>; 3],
    /// The days themselves.
    pub(crate) band: Band,
}

fn fit_of(history: &History, setting: &Setting) -> Option<Fit> {
    let readings: Vec<GaugeReading> = history
        .measured
        .iter()
        .map(|one| GaugeReading { expected_wear_mm: one.wear_mm, depth_mm: one.depth_mm })
        .collect();
    Fit::new(history.new_mm.map_or(Start::Unknown, Start::Depth), &readings, setting)
}

/// Forecasts run on rounded parameters, so that whoever reads them can follow every date.
fn rounded(fit: Fit) -> Fit {
    Fit {
        wear_mm: to_nine_digits(fit.wear_mm),
        depth_mm: to_nine_digits(fit.depth_mm),
        depth_variance: to_nine_digits(fit.depth_variance),
        pace: to_nine_digits(fit.pace),
        pace_variance: to_nine_digits(fit.pace_variance),
    }
}

/// Error of the gauge that measures at this point, mm.
fn gauge_sd_mm(point: &WearPoint) -> f64 {
    if point.kind == "tyre" { TREAD_GAUGE_SD_MM } else { PAD_GAUGE_SD_MM }
}

/// "Tyre, front left".
pub(crate) fn title(wearing: &Wearing<'_>) -> String {
    crate::conditions::title(wearing.component.kind.as_str(), wearing.fitting.place)
}
