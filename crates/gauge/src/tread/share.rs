//! How much of the tread that may be worn off is left.

use super::floor_at;
use crate::grading::Bench;
use crate::measured::MeasuredSet;
use crate::rotation::TyreTread;
use quantity::Depth;

/// The mean of several depths, to the nanometre below; none of none.
pub fn mean_depth(depths: &[Depth]) -> Option<Depth> {
    let sum: i64 = depths.iter().map(|depth| depth.nm()).sum();
    let count = i64::try_from(depths.len()).ok().filter(|count| *count > 0)?;
    Some(Depth::from_nm(sum / count))
}

/// The share of usable tread left, 0 to 1: (d - floor) / (new - floor), clamped (common practice, no source). For a set
/// of tyres d is the mean of their averages. `None` where a new tyre would have nothing to wear.
pub fn usable_fraction(depth: Depth, new: Depth, floor: Depth) -> Option<f64> {
    let (left, whole) = ((depth - floor).mm(), (new - floor).mm());
    (whole > 0.0).then(|| (left / whole).clamp(0.0, 1.0))
}

/// The share of usable tread a set of tyres has left, 0 to 1, from the mean of their averages across the tread; see
/// [`usable_fraction`].
pub fn usable_fraction_of_set(tyres: &[TyreTread], new: Depth, floor: Depth) -> Option<f64> {
    let averages: Vec<Depth> = tyres.iter().map(TyreTread::average).collect();
    usable_fraction(mean_depth(&averages)?, new, floor)
}

/// How much is left of what the tyre fitted here can lose, where its depth when new is on record; rounded down.
pub(super) fn percent_left(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Option<u8> {
    let new = Depth::parse(bench.part("tyre", set.place)?.depth_new?).ok()?;
    let floor = Depth::from_nm(floor_at(&bench.yardstick, set.place).exact());
    let left = usable_fraction(Depth::from_nm(set.lowest.exact), new, floor)?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 100")]
    let percent = (left * 100.0).floor() as u8;
    Some(percent)
}
