//! What sizes and running direction allow a set of tyres to do.

/// Which way round tyres may turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Running {
    /// Either way, on any side.
    EitherWay,
    /// One way only: an arrow on the side wall says so.
    OneWay,
    /// Nobody has looked.
    #[default]
    Unknown,
}

/// Whether front and rear wheels carry the same size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Sizes {
    /// The same all round.
    Alike,
    /// Another size in front than behind.
    Staggered,
    /// Nobody has looked.
    #[default]
    Unknown,
}

/// What is known of the tyres on a vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Fitment {
    /// Which way round they may turn.
    pub running: Running,
    /// Whether they are all of one size.
    pub sizes: Sizes,
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
    /// The moves between the axles that it allows.
    pub const fn moves(self) -> Moves {
        match (self.sizes, self.running) {
            (Sizes::Staggered, running) => Moves::NotBetweenAxles { across: SideToSide::of(running) },
            (Sizes::Alike, Running::EitherWay) => Moves::MakersPattern,
            (Sizes::Alike, Running::OneWay) => Moves::SameSide,
            (Sizes::Unknown, _) | (Sizes::Alike, Running::Unknown) => Moves::LookUp,
        }
    }
}

impl SideToSide {
    const fn of(running: Running) -> Self {
        match running {
            Running::EitherWay => Self::Allowed,
            Running::OneWay => Self::Forbidden,
            Running::Unknown => Self::LookUp,
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
