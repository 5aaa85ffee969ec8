//! Tread that is not alike across a tyre, named by its likely cause.

use crate::assessment::Opinion;
use crate::measured::MeasuredSet;
use crate::shown::shown;
use crate::yardstick::Held;
use model::Zone;

/// Inner, centre and outer, where all three were measured.
pub(crate) fn three_places(set: &MeasuredSet<'_>) -> Option<[i64; 3]> {
    Some([set.in_zone(Zone::Inner)?, set.in_zone(Zone::Centre)?, set.in_zone(Zone::Outer)?])
}

/// Names the pattern where three places differ noticeably. Patterns: common practice, no source.
pub(super) fn uneven_opinion(set: &MeasuredSet<'_>, uneven: &Held<'_>) -> Option<Opinion> {
    let [inner, centre, outer] = three_places(set)?;
    let deepest = inner.max(centre).max(outer);
    let is_low = |depth: i64| uneven.is_met(deepest - depth);
    let is_hollow = uneven.is_met(inner.min(outer) - centre);
    let pattern = match (is_low(inner), is_low(centre), is_low(outer)) {
        (false, false, false) => return None,
        (false, true, false) => "the centre is low, as over-inflation wears it",
        _ if is_hollow => "the centre is low, as over-inflation wears it",
        (true, _, true) => "both shoulders are low, as under-inflation or hard cornering wears them",
        (true, _, false) => "the inner shoulder is low, as wrong camber or toe wears it",
        (false, _, true) => "the outer shoulder is low, as wrong camber or toe wears it",
    };
    let unit = set.lowest.entered.unit;
    let [inner, centre, outer] = [inner, centre, outer].map(|depth| shown(depth, unit));
    let reason = format!("Tread is uneven ({inner} inner, {centre} centre, {outer} outer): {pattern}.");
    Some(Opinion::on_comparison(uneven, reason))
}
