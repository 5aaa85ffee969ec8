//! What a meter can do between two readings.

/// The bounds within which two readings of one meter agree, in its exact base unit (all of them house settings, no
/// source, but for the hours of a day).
#[derive(Debug)]
pub(crate) struct Bounds {
    /// No more in a day.
    pub(crate) most_a_day: i128,
    /// What is allowed on top, for clocks and days that were told too coarsely.
    pub(crate) allowance: i128,
    /// Readings of different sources disagree, and do not run backwards, below this ...
    pub(crate) most_disagreement: i64,
    /// ... and below one part in so many.
    pub(crate) disagreement_parts: i64,
    /// A day where the log does not tell: the mean of the shipped prior.
    pub(crate) typical_a_day: f64,
    /// A slip of a digit at the end of the log is evident when it stays within three times what is expected, or within
    /// this, if that is more.
    pub(crate) evident: f64,
}

/// An odometer, in millimetres: 1,600 km a day (two drivers in turn at motorway speed) and 300 km on top; 50 miles.
pub(crate) static ODOMETER: Bounds = Bounds {
    most_a_day: 1_600_000_000,
    allowance: 300_000_000,
    most_disagreement: 80_467_200,
    disagreement_parts: 100,
    typical_a_day: 80_000_000.0,
    evident: 300_000_000.0,
};

/// An hour meter, in seconds: 24 hours a day and 24 on top, since a day may have been told without its hour; 2 hours.
pub(crate) static HOUR_METER: Bounds = Bounds {
    most_a_day: 86_400,
    allowance: 86_400,
    most_disagreement: 7_200,
    disagreement_parts: 100,
    typical_a_day: 14_400.0,
    evident: 86_400.0,
};
