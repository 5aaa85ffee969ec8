//! What components went through on this vehicle, as another vehicle is told that has them now.

use super::history::logged;
use crate::known::Known;
use crate::questions::believed;
use gauge::{DepthSet, WearPoint, depth_sets, wear_point_of};
use model::{ComponentHistory, ComponentId, Facts, Fitting, MeasuredElsewhere, Policy, SpellElsewhere};
use quantity::Distance;
use std::collections::BTreeSet;

/// What these components went through on the vehicle that `facts` speak of, in the order of their ids: the fittings that
/// have ended, with what its own counted readings say was driven in them. Those that do not wear are left out.
///
/// It is what belongs into [`Facts::elsewhere`] of a vehicle that such a component came to.
pub fn component_histories(
    facts: &Facts,
    policy: &Policy,
    components: &BTreeSet<ComponentId>,
) -> Vec<ComponentHistory> {
    let known = Known::of(facts, policy);
    let believed = believed(facts);
    let sets = depth_sets(&believed);
    let history = |id: &ComponentId| {
        let component = facts.components.iter().find(|component| component.id == *id)?;
        let point = wear_point_of(component.kind.as_str())?;
        let fitted = facts.fittings.iter().filter(|fitting| fitting.component == *id);
        let mut spells: Vec<SpellElsewhere> =
            fitted.filter_map(|fitting| spell(&known, fitting, point, &sets)).collect();
        spells.sort_by_key(|spell| (spell.from, spell.fitting));
        (!spells.is_empty()).then_some(ComponentHistory { component: *id, spells })
    };
    components.iter().filter_map(history).collect()
}

/// `None` for a fitting that has not ended.
fn spell(
    known: &Known<'_>,
    fitting: &Fitting,
    point: &WearPoint,
    sets: &[DepthSet<'_>],
) -> Option<SpellElsewhere> {
    let to = fitting.to?;
    let logged = logged(known, fitting, point, sets)?;
    let measured = logged.measured.into_iter().map(|(set, _, km)| MeasuredElsewhere {
        measurement: set.lowest().clone(),
        at: set.inspection().performed_at,
        driven: Distance::nearest_km(km),
        is_whole: set.is_whole(),
    });
    Some(SpellElsewhere {
        fitting: fitting.id,
        place: fitting.place,
        from: fitting.from,
        to,
        driven: Distance::nearest_km(logged.km),
        measurements: measured.collect(),
    })
}
