//! Friction material of either kind of brake: its ladder of thickness, the wheel on the other side, and what is done about it.

mod commercial;

pub use commercial::{BrakeKind, commercial_lining_floor};
pub(crate) use commercial::{POINTS, answers, limits};

use crate::assessment::{Assessment, Opinion};
use crate::axle::{Axle, opposite};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::{DepthLimits, Rung, stand_on};
use crate::limit::Limit;
use crate::measured::MeasuredSet;
use crate::shown::{published, shown};
use crate::wear::WearLimit;
use crate::yardstick::{Held, Yardstick};
use commercial::held_floor;
use model::{Grade, Place, Zone};
use quantity::{Depth, Unit};

/// How the friction material of one kind of brake is judged and spoken of.
pub(crate) struct Lining {
    /// Floors of inspection.
    pub law: &'static [Limit],
    /// House settings, worst first.
    pub worn_out: &'static Limit,
    pub attend: &'static Limit,
    pub watch: &'static Limit,
    /// How far apart the two wheels of an axle may be.
    pub left_right: &'static Limit,
    /// What is worn out: "pads", "linings".
    pub material: &'static str,
    /// What is replaced: "pads", "shoes".
    pub part: &'static str,
    /// What they rub on: "discs", "drums".
    pub partner: &'static str,
    /// What makes two wheels of one axle differ.
    pub apart: &'static str,
    /// Kinds of brake that have this material.
    pub kinds: &'static [BrakeKind],
}

impl Lining {
    /// The thicknesses at which the grade changes: each grade holds at or below its thickness, the law's below it.
    ///
    /// The house's do-not-drive setting lies above every floor of inspection; if a law were ever stricter, it would count.
    /// Where the floor of a commercial vehicle's `kind` of brake lies higher, the house's settings move up with it.
    pub fn depth_limits(
        &self,
        yardstick: &Yardstick<'_>,
        place: Place,
        kind: Option<BrakeKind>,
    ) -> DepthLimits {
        let exact = |limit| yardstick.held(limit).exact();
        let floor = yardstick.strictest(self.law, place).map_or(0, |floor| floor.exact());
        let raised = self.raised(yardstick, self.commercial(yardstick, place, kind).as_ref());
        DepthLimits {
            do_not_drive: Depth::from_nm((exact(self.worn_out) + raised).max(floor)),
            attend: Depth::from_nm(exact(self.attend) + raised),
            watch: Depth::from_nm(exact(self.watch) + raised),
        }
    }

    /// The thickness at which it asks for work, and on whose word.
    pub fn attend_limit(
        &self,
        yardstick: &Yardstick<'_>,
        place: Place,
        kind: Option<BrakeKind>,
    ) -> WearLimit {
        let attend = yardstick.held(self.attend);
        let commercial = self.commercial(yardstick, place, kind);
        let commercial = commercial.filter(|floor| self.raised(yardstick, Some(floor)) > 0);
        let above =
            commercial.map_or_else(String::new, |floor| format!(", above the floor of {}", floor.source()));
        WearLimit {
            depth: self.depth_limits(yardstick, place, kind).attend,
            source: format!("{}{above}", attend.source()),
            standing: attend.standing(),
        }
    }

    /// The floor of a commercial vehicle's brake of this kind, where the kind has this material.
    fn commercial<'a>(
        &self,
        yardstick: &Yardstick<'a>,
        place: Place,
        kind: Option<BrakeKind>,
    ) -> Option<Held<'a>> {
        held_floor(yardstick, place, kind.filter(|kind| self.kinds.contains(kind))?)
    }

    /// By how much a commercial floor moves the house's settings up.
    fn raised(&self, yardstick: &Yardstick<'_>, commercial: Option<&Held<'_>>) -> i64 {
        commercial.map_or(0, |floor| (floor.exact() - yardstick.held(self.worn_out).exact()).max(0))
    }

    /// The opinion on the thickness that was `found`: "Lining of 3 mm".
    pub fn opinion(&self, bench: &Bench<'_>, set: &MeasuredSet<'_>, found: &str) -> Opinion {
        let (yardstick, measured, unit) = (&bench.yardstick, set.lowest.exact, set.lowest.entered.unit);
        let law = yardstick.strictest(self.law, set.place);
        let commercial = self.commercial(yardstick, set.place, commercial::noted_kind(bench, set.place));
        let raised = self.raised(yardstick, commercial.as_ref());
        let floors = law.into_iter().chain(commercial).map(|held| Rung::on_scale(held, measured));
        let house = [self.worn_out, self.attend, self.watch].map(|limit| yardstick.held(limit));
        let house = house.map(|held| Rung::above(raised, held, measured));
        let rungs: Vec<Rung<'_>> = floors.chain(house).collect();
        let (grade, rung) = stand_on(&rungs);
        Opinion::on_rung(grade, &rung, self.reason(grade, &rung, (found, unit)))
    }

    fn reason(&self, grade: Grade, rung: &Rung<'_>, (found, unit): (&str, Unit)) -> String {
        let as_set = rung.held.bound.value().filter(|_| rung.at == rung.held.exact());
        let at = as_set.map_or_else(|| shown(rung.at, unit), |value| published(value, rung.at, unit));
        let Self { material, part, .. } = self;
        match grade {
            Grade::DoNotDrive if rung.held.limit.jurisdiction.is_some() => {
                format!("{found} is below the floor of inspection of {at}.")
            }
            Grade::DoNotDrive => format!("{found} is at or below {at}, where {material} are worn out."),
            Grade::Attend => format!("{found} is at or below {at}, where {part} are to be replaced."),
            Grade::Watch => format!("{found} is at or below {at}, where watching begins."),
            Grade::Good => format!("{found} is above {at}, where watching begins."),
        }
    }

    /// At the thinner wheel only, so that more wear never makes a grade better. Like is held to like: a wheel whose inner
    /// pad was seen is not compared with one whose inner pad was not.
    pub fn left_right(&self, bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<Opinion> {
        let axle = Axle::of(set.place)?;
        let other = bench.sets.beside(set, opposite(set.place)?)?;
        if set.in_zone(Zone::Inner).is_some() != other.in_zone(Zone::Inner).is_some() {
            return None;
        }
        let difference = other.lowest.exact - set.lowest.exact;
        let unit = set.lowest.entered.unit;
        let reason = format!(
            "Left and right on the {} axle differ by {} ({} here, {} opposite), {}.",
            axle.word(),
            shown(difference, unit),
            shown(set.lowest.exact, unit),
            shown(other.lowest.exact, unit),
            self.apart,
        );
        let held = bench.yardstick.held(self.left_right);
        held.is_met(difference).then(|| Opinion::on_comparison(&held, reason))
    }

    /// What is done about a thickness of this grade.
    pub fn advise(&self, assessment: &mut Assessment, grade: Grade, place: Place) {
        let (hazards, Self { part, partner, .. }) = (brakes_at(place), self);
        match grade {
            Grade::DoNotDrive => assessment.advise(
                format!("Have the {part} of both wheels of this axle replaced, and look at the {partner}."),
                hazards,
            ),
            Grade::Attend => assessment
                .advise(format!("Book the {part} of both wheels of this axle for replacement."), hazards),
            Grade::Watch => assessment.advise("Measure them again at every check.", &[]),
            Grade::Good => {}
        }
    }
}
