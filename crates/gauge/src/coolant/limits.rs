//! What a concentration of coolant is held to: the cold where the vehicle stands, and the band it is made for.

use super::advice::advise;
use super::concentration::{Basis, Concentration};
use super::freeze_point::{FreezeError, freeze_point, least_share_for};
use super::{Scale, Tester};
use crate::assessment::{Assessment, Opinion};
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on, stand_under};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::yardstick::{Held, Yardstick};
use model::Grade;
use quantity::{Entered, Temperature, Unit};

const fn percent(value: f64) -> Entered {
    Entered::new(value, Unit::Percent)
}

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Coolant,
    name: "freeze point with the doubt added",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for coolant, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

/// The band in which concentrate is meant to be used.
const BAND: Limit = Limit {
    name: "glycol by volume",
    source: "ASTM D3306, scope 1.1",
    edition: "scope read first-hand in several editions; check the current one",
    standing: Standing::Verified,
    ..SETTING
};

/// The design low that is used where a depot has said none: too cold for some and not cold enough for others.
static FREEZES: Limit = Limit {
    key: "coolant-design-low",
    grade: Some(Grade::Attend),
    bound: Bound::Above(Entered::new(-20.0, Unit::Celsius)),
    ..SETTING
};
static BARELY: Limit = Limit {
    key: "coolant-in-hand",
    name: "kelvins in hand from the design low down to the freeze point with the doubt added",
    bound: Bound::Below(Entered::new(5.0, Unit::Count)),
    ..SETTING
};
static NO_SCALE: Limit = Limit { key: "coolant-scale", name: "the scale of the coolant tester", ..SETTING };
static THIN: Limit = Limit { key: "coolant-thin", bound: Bound::Below(percent(40.0)), ..BAND };
/// Where the freeze tables end, by volume and by mass alike.
static RICH: Limit = Limit {
    key: "coolant-rich",
    name: "glycol, on the scale it was read off",
    bound: Bound::Above(percent(60.0)),
    ..SETTING
};
static BEYOND_BAND: Limit = Limit {
    key: "coolant-beyond-band",
    grade: Some(Grade::Attend),
    bound: Bound::Above(percent(70.0)),
    ..BAND
};
/// What coolant bought ready to use must hold at least.
static READY_MIXED: Limit = Limit {
    key: "coolant-ready-mixed",
    name: "glycol by volume in coolant bought ready to use",
    grade: None,
    bound: Bound::Below(percent(50.0)),
    ..BAND
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&FREEZES, &BARELY, &NO_SCALE, &THIN, &RICH, &BEYOND_BAND, &READY_MIXED].into_iter()
}

/// The numbers that hold for a vehicle's coolant.
pub(super) struct Marks<'a> {
    freezes: Held<'a>,
    /// Whether the depot has said how cold its vehicles must stand.
    pub is_depots_own: bool,
    barely: Held<'a>,
    thin: Held<'a>,
    rich: Held<'a>,
    beyond_band: Held<'a>,
    pub ready_mixed: Held<'a>,
}

impl<'a> Marks<'a> {
    fn of(yardstick: &Yardstick<'a>) -> Self {
        let held = |limit| yardstick.held(limit);
        let depots = yardstick.vehicle.design_low.map(|low| low.to(Unit::Celsius));
        Self {
            freezes: depots.map_or(held(&FREEZES), |low| held(&FREEZES).at(low)),
            is_depots_own: depots.is_some(),
            barely: held(&BARELY),
            thin: held(&THIN),
            rich: held(&RICH),
            beyond_band: held(&BEYOND_BAND),
            ready_mixed: held(&READY_MIXED),
        }
    }

    /// Where the vehicle stands it becomes as cold as this.
    pub fn design_low(&self) -> Temperature {
        Temperature::from_mk(self.freezes.exact())
    }

    /// The same as a person reads it, in the unit in which it was set.
    pub fn design_low_told(&self) -> String {
        self.freezes.bound.value().map(|low| low.to_string()).unwrap_or_default()
    }

    /// The unit in which it was set: temperatures are told in it.
    pub fn unit(&self) -> Unit {
        self.freezes.bound.value().map_or(Unit::Celsius, |low| low.unit)
    }

    /// The freeze point at which enough is in hand.
    pub fn in_hand(&self) -> Temperature {
        Temperature::from_mk(self.freezes.exact() - self.barely.exact() / 1000)
    }
}

/// Grades what was read off a tester.
pub(super) fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let scale = bench.known_word("coolant-scale").and_then(Scale::from_word);
    let read = set.lowest.entered;
    let told = scale.and_then(|scale| Concentration::parse(read, scale.glycol(), scale.basis()).ok());
    let Some(concentration) = told else {
        return without_scale(read, &bench.yardstick);
    };
    let marks = Marks::of(&bench.yardstick);
    let tester = bench.word_beside(set, "coolant-tester").and_then(Tester::from_word);
    let read = Read { concentration, is_strip: tester == Some(Tester::Strip) };
    let [first, second] = too_lean(read, &marks);
    let mut assessment = Assessment::starting_with(first);
    for opinion in [second, too_rich(read, &marks)] {
        if opinion.grade != Grade::Good {
            assessment.hear(opinion);
        }
    }
    advise(&mut assessment, concentration, tester, &marks);
    assessment
}

/// What was read off, and whether off a strip: its steps are coarse and its colour drifts, so it is watched at most.
#[derive(Clone, Copy)]
struct Read {
    concentration: Concentration,
    is_strip: bool,
}

impl Read {
    fn seen(self, opinion: Opinion) -> Opinion {
        if self.is_strip { opinion.at_most(Grade::Watch, "a strip is advisory") } else { opinion }
    }
}

fn without_scale(read: Entered, yardstick: &Yardstick<'_>) -> Assessment {
    let reason = format!(
        "A concentration of {read} says nothing until it is known of which glycol, and by volume or by mass.",
    );
    let mut assessment =
        Assessment::starting_with(Opinion::on_comparison(&yardstick.held(&NO_SCALE), reason));
    assessment.advise("Say which glycol the tester's scale is for, and whether by volume or by mass.", &[]);
    assessment
}

/// A share by volume on the basis of a concentration.
fn on_its_basis(volume: i64, of: Concentration) -> i64 {
    Concentration { basis: Basis::Volume, share: volume, ..of }.on(of.basis).exact()
}

/// A limit on the share by volume, as it lies on the scale of the tester.
fn by_volume(held: Held<'_>, concentration: Concentration) -> Rung<'_> {
    Rung {
        held,
        tested: concentration.on(Basis::Volume).exact(),
        at: on_its_basis(held.exact(), concentration),
        is_inverse: false,
    }
}

fn too_rich(read: Read, marks: &Marks<'_>) -> Opinion {
    let concentration = read.concentration;
    let rich = Rung::on_scale(marks.rich, concentration.exact());
    let beyond_band = by_volume(marks.beyond_band, concentration);
    let (grade, rung) = if read.is_strip { stand_under(&[rich]) } else { stand_under(&[beyond_band, rich]) };
    let bound = rung.held.bound;
    let reason = match grade {
        Grade::Good => format!("{concentration} is not {bound}."),
        _ if rung.held.limit == &BEYOND_BAND => {
            format!("{concentration} is {bound} by volume, richer than coolant is meant to be used.")
        }
        _ => format!(
            "{concentration} is {bound}: protection from frost falls again there, heat is carried worse, and no freeze \
             point is told.",
        ),
    };
    Opinion::on_rung(grade, &rung, reason)
}

/// Too little for the cold, and too little for the band. Of two with the same grade the one that asks for more comes first, so
/// that what is said to be better is.
fn too_lean(read: Read, marks: &Marks<'_>) -> [Opinion; 2] {
    let (thin, thin_at) = too_thin(read.concentration, marks);
    let (cold, cold_at) = too_cold(read, marks);
    if (cold.grade, cold_at) >= (thin.grade, thin_at) { [cold, thin] } else { [thin, cold] }
}

fn too_thin(concentration: Concentration, marks: &Marks<'_>) -> (Opinion, i64) {
    let (grade, rung) = stand_on(&[by_volume(marks.thin, concentration)]);
    let bound = rung.held.bound;
    let reason = if grade == Grade::Good {
        format!("{concentration} is not {bound} by volume.")
    } else {
        format!("{concentration} is {bound} by volume, thinner than coolant is meant to be used.")
    };
    (Opinion::on_rung(grade, &rung, reason), rung.at)
}

fn too_cold(read: Read, marks: &Marks<'_>) -> (Opinion, i64) {
    let concentration = read.concentration;
    let promised = match freeze_point(concentration) {
        Ok(point) => point.promised(),
        // Too thin for the table: it is held to freeze as water does.
        Err(FreezeError::TooThin { .. }) => Temperature::from_mk(273_150),
        // Too rich for it: nothing is said of frost.
        Err(FreezeError::TooRich { .. }) => return too_thin(concentration, marks),
    };
    // Thousandths of a kelvin, held to a limit in millionths.
    let in_hand = (marks.freezes.exact() - promised.mk()).saturating_mul(1000);
    let [cold, enough] = [marks.design_low(), marks.in_hand()]
        .map(|cold| least_share_for(concentration.glycol, concentration.basis, cold));
    let freezes = cold_rung(marks.freezes, promised.mk(), cold);
    let barely = cold_rung(marks.barely, in_hand, enough);
    let (grade, mut rung) = stand_on(&[freezes, barely]);
    let reason = cold_reason(concentration, marks, grade);
    if read.is_strip {
        // It is watched until enough is in hand, whichever of the two it meets.
        rung.at = barely.at;
    }
    let is_told = if grade == Grade::Attend && !read.is_strip { cold.is_some() } else { enough.is_some() };
    if is_told {
        (read.seen(Opinion::on_rung(grade, &rung, reason)), rung.at)
    } else {
        // No share of the table will do, so there is no number at which it would be better.
        (read.seen(Opinion::on_comparison(&rung.held, reason)), i64::MAX)
    }
}

fn cold_reason(concentration: Concentration, marks: &Marks<'_>, grade: Grade) -> String {
    let shown = shown_freeze_point(concentration, marks.unit());
    let low = marks.design_low_told();
    match grade {
        Grade::Good => format!("{concentration} {shown}; the design low is {low}."),
        Grade::Watch => format!("{concentration} {shown}: too little in hand below the design low of {low}."),
        Grade::Attend | Grade::DoNotDrive => {
            format!("{concentration} {shown}: not cold enough for the design low of {low}.")
        }
    }
}

/// A limit on the cold, as it lies on the scale of the tester: at the least share that will do.
fn cold_rung(held: Held<'_>, tested: i64, least: Option<i64>) -> Rung<'_> {
    let is_inverse = matches!(held.bound, Bound::Above(_) | Bound::AtOrAbove(_));
    Rung { held, tested, at: least.unwrap_or(60_000_000), is_inverse }
}

/// The freeze point as a whole degree, rounded towards warmer.
fn shown_freeze_point(concentration: Concentration, unit: Unit) -> String {
    match freeze_point(concentration) {
        Ok(point) => {
            let doubt = Entered::new(point.tolerance_kelvins(), Unit::Count);
            format!("freezes at {} or below by the table, {doubt} K allowed for doubt", point.shown(unit))
        }
        Err(_) => "is held to freeze at 0 °C, as water does".to_owned(),
    }
}
