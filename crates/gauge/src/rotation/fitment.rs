//! What sizes and running direction allow a set of tyres to do.

use crate::answer::{Answer, answered};
use crate::axle::Axle;
use crate::grading::Bench;
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, NOTED, WHOLE_VEHICLE};
use model::Place;

answered! {
    /// Which way round tyres may turn.
    Running, Rotation, "which way round the tyres may turn";

    /// Either way, on any side.
    EitherWay = "either_way", Answer::good("either way", "No arrow tells which way the tyres turn.");

    /// One way only.
    OneWay = "one_way", Answer::good("one way", "An arrow tells which way the tyres turn.");
}

answered! {
    /// Whether front and rear wheels carry the same size.
    Sizes, Rotation, "sizes in front and behind";

    /// The same all round.
    Alike = "alike", Answer::good("alike", "All tyres have the same size.");

    /// Another size in front than behind.
    Staggered = "staggered", Answer::good("staggered", "Front and rear tyres differ in size.");
}

const OF_VEHICLE: CheckPoint =
    CheckPoint { discipline: crate::limit::Discipline::Rotation, places: WHOLE_VEHICLE, ..NOTED };

pub(crate) static POINTS: [CheckPoint; 2] = [
    CheckPoint {
        code: "tyre-running",
        title: "Which way round the tyres may turn",
        answers: Running::ANSWERS,
        ..OF_VEHICLE
    },
    CheckPoint {
        code: "tyre-sizes",
        title: "Sizes in front and behind",
        answers: Sizes::ANSWERS,
        ..OF_VEHICLE
    },
];

/// What is known of the tyres on a vehicle; `None` where nobody has looked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Fitment {
    /// Which way round they may turn.
    pub running: Option<Running>,
    /// Whether they are all of one size.
    pub sizes: Option<Sizes>,
}

/// Which moves between the axles a fitment allows (common practice, no source; the maker's pattern comes first).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Moves {
    /// Front and rear change by the maker's pattern, crossing sides where it says so.
    MakersPattern,
    /// Front and rear change on the same side only.
    SameSide,
    /// Sizes and running direction must be looked up before any tyre is moved.
    LookUp,
    /// None between the axles.
    NotBetweenAxles {
        /// Whether the tyres of one axle may change sides.
        across: SideToSide,
    },
}

/// Whether the tyres of one axle may change sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SideToSide {
    /// They may.
    Allowed,
    /// They must not: they run one way.
    Forbidden,
    /// Only if they run either way, which nobody has looked at.
    LookUp,
}

impl Fitment {
    /// As last answered, but nothing that was answered before one of the tyres on the wheels was fitted there.
    pub(super) fn noted(bench: &Bench<'_>) -> Self {
        let wheels = Axle::Front.wheels().into_iter().chain(Axle::Rear.wheels());
        let since = wheels.filter_map(|wheel| bench.fitted_since("tyre", wheel)).max();
        let stands = |set: &&MeasuredSet<'_>| since.is_none_or(|since| bench.day_of(set.inspection) >= since);
        let answer = |point: &str| {
            let set = bench.noted(point, Place::Vehicle).filter(stands)?;
            set.point.answer_kept(set.lowest.exact)
        };
        Self {
            running: answer("tyre-running").and_then(|answer| Running::from_word(answer.word)),
            sizes: answer("tyre-sizes").and_then(|answer| Sizes::from_word(answer.word)),
        }
    }

    /// The moves between the axles that it allows.
    pub const fn moves(self) -> Moves {
        match (self.sizes, self.running) {
            (Some(Sizes::Staggered), running) => Moves::NotBetweenAxles { across: SideToSide::of(running) },
            (Some(Sizes::Alike), Some(Running::EitherWay)) => Moves::MakersPattern,
            (Some(Sizes::Alike), Some(Running::OneWay)) => Moves::SameSide,
            (None, _) | (Some(Sizes::Alike), None) => Moves::LookUp,
        }
    }
}

impl SideToSide {
    const fn of(running: Option<Running>) -> Self {
        match running {
            Some(Running::EitherWay) => Self::Allowed,
            Some(Running::OneWay) => Self::Forbidden,
            None => Self::LookUp,
        }
    }

    /// What to say of it, after the bar against changing axles.
    pub(super) const fn sentence(self) -> &'static str {
        match self {
            Self::Allowed => "the tyres of one axle may change sides",
            Self::Forbidden => "they run one way besides, so each stays where it is",
            Self::LookUp => {
                "the tyres of one axle may change sides only if no arrow tells which way they run"
            }
        }
    }
}

impl Moves {
    /// How to carry out a rotation that is due.
    pub(super) const fn how(self) -> &'static str {
        match self {
            Self::MakersPattern => "follow the maker's pattern",
            Self::SameSide => "the tyres run one way, so change front and rear on the same side only",
            Self::LookUp | Self::NotBetweenAxles { .. } => {
                "follow the maker's pattern, and only where sizes and running direction allow"
            }
        }
    }
}
