//! What components cost.

use crate::Act;
use crate::error::ActError;
use model::{ComponentCost, ComponentCostId, ComponentId, Cost};

/// States what a component cost, bought and fitted. What was stated before stays on record and holds no longer.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn state_cost(
    act: &mut Act,
    component: ComponentId,
    cost: Cost,
) -> Result<ComponentCost, ActError> {
    let fleet = act.fleet();
    if store::components::lock(&mut act.conn(), fleet, component).await?.is_none() {
        return Err(ActError::NotFound { kind: "component" });
    }
    insert(act, component, cost).await
}

pub(super) async fn insert(
    act: &mut Act,
    component: ComponentId,
    cost: Cost,
) -> Result<ComponentCost, ActError> {
    let said = ComponentCost { id: ComponentCostId(act.new_id()), component, cost, recorded_at: act.at() };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::component_costs::insert(&mut act.conn(), fleet, &said, &stamp).await?;
    act.note("component_cost", said.id, "state", None, Some(&said));
    Ok(said)
}
