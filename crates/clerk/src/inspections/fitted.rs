//! How deep the parts fitted on a batch's vehicles were when new: nothing measured on them can be deeper.

use crate::Act;
use crate::error::ActError;
use chrono::NaiveDate;
use model::{Component, Fitting, Measurement, Place, VehicleId};
use quantity::{Dimension, Entered, Unit};

/// What is or was fitted on the vehicles of a batch.
#[derive(Default)]
pub(super) struct Fitted(Vec<(Fitting, Component)>);

impl Fitted {
    pub(super) async fn look_up(act: &mut Act, vehicles: &[VehicleId]) -> Result<Self, ActError> {
        let fleet = act.fleet();
        Ok(Self(store::fittings::with_components(&mut act.conn(), fleet, vehicles).await?))
    }

    /// Why a measurement is deeper than the part it was taken on was when new, by more than the gauge's error; `None`
    /// where it is not, and where nobody knows how deep that part was.
    pub(super) fn too_deep(
        &self,
        vehicle: VehicleId,
        day: NaiveDate,
        measured: &Measurement,
    ) -> Option<String> {
        let wearing = gauge::wear_points().iter().find(|point| point.point == measured.point.as_str())?;
        let (component, new) = self.deepest(vehicle, measured.place, day, wearing.kind)?;
        let is_deeper = wearing.is_better(new.exact_as(Dimension::Depth).ok()?, measured.exact);
        is_deeper.then(|| {
            let Component { kind, product, .. } = component;
            let error = Entered::from_exact(wearing.gauge_error.nm(), Unit::Millimetre);
            format!(
                "{} is deeper than the {new} of the {kind} {product} when new, which was fitted {} on {day}, by more than \
                 the gauge can err ({error}); was another one fitted?",
                measured.entered,
                measured.place.title()
            )
        })
    }

    /// The part of that kind that was there that day; where one came for another, the one that was deeper when new.
    /// `None` where one of them may have been of any depth.
    fn deepest(
        &self,
        vehicle: VehicleId,
        place: Place,
        day: NaiveDate,
        kind: &str,
    ) -> Option<(&Component, Entered)> {
        let there = self.0.iter().filter(|(fitting, component)| {
            let was_there = fitting.from <= day && fitting.to.is_none_or(|to| to >= day);
            fitting.vehicle == vehicle
                && fitting.place == place
                && was_there
                && component.kind.as_str() == kind
        });
        let depths: Option<Vec<_>> =
            there.map(|(_, component)| component.depth_new.map(|new| (component, new))).collect();
        depths?.into_iter().max_by_key(|(_, new)| new.exact().unwrap_or(i64::MAX))
    }
}
