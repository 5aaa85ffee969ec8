//! What no measurement tells, but the vehicle's log and its service records: how far it was driven, what was changed when.

use crate::series::series;
use crate::top_up::{Consumption, TopUp, Trend, consumption, trend};
use chrono::{Datelike, NaiveDate};
use model::{Inspection, InspectionId, add_months};
use quantity::{Distance, Entered, Unit};

/// What is known besides the measurements, each list in any order.
#[derive(Debug, Clone, Copy, Default)]
pub struct Background<'a> {
    /// The total distance at inspections, where it is known.
    pub stands: &'a [(InspectionId, Distance)],
    /// The total distances at which the engine oil was changed.
    pub oil_changes: &'a [Distance],
    /// The days on which the brake fluid was changed.
    pub brake_fluid_changes: &'a [NaiveDate],
}

/// What a vehicle uses, and how that has changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Use {
    pub consumption: Consumption,
    pub trend: Option<Trend>,
}

impl Background<'_> {
    /// The use that the top-ups noted at this point come to, in the newest stretch between two fills that tells one.
    ///
    /// A fill is a change of the liquid: how much was drained then nobody knows, so nothing is reckoned across one. Where
    /// none is known before the first top-up, that one brought the level to the mark and counts as the fill.
    pub(crate) fn use_of(
        &self,
        point: &str,
        inspections: &[Inspection],
        fills: &[Distance],
        mark_error_litres: f64,
    ) -> Option<Use> {
        let mut top_ups = self.top_ups(point, inspections);
        top_ups.sort_by_key(|top_up| top_up.odometer);
        let mut fills = fills.to_vec();
        fills.sort_unstable();
        let first = top_ups.first()?.odometer;
        if fills.first().is_none_or(|fill| *fill > first) {
            fills.insert(0, first);
            top_ups.retain(|top_up| top_up.odometer > first);
        }
        let ends = fills.iter().skip(1).map(|fill| Some(*fill)).chain([None]);
        let stretches: Vec<(Distance, Option<Distance>)> = fills.iter().copied().zip(ends).collect();
        stretches.into_iter().rev().find_map(|(from, to)| {
            let within =
                |top_up: &&TopUp| from <= top_up.odometer && to.is_none_or(|to| top_up.odometer < to);
            let within: Vec<TopUp> = top_ups.iter().filter(within).copied().collect();
            let consumption = consumption(from, &within, mark_error_litres).ok()?;
            Some(Use { consumption, trend: trend(from, &within, mark_error_litres).ok().flatten() })
        })
    }

    /// The top-ups noted at this point whose odometer is known.
    fn top_ups(&self, point: &str, inspections: &[Inspection]) -> Vec<TopUp> {
        let of = |noted: crate::series::Noted<'_>| {
            let (_, odometer) = self.stands.iter().find(|(id, _)| *id == noted.inspection.id)?;
            let litres = Entered::from_exact(noted.value.exact, Unit::Litre).value;
            Some(TopUp { odometer: *odometer, litres })
        };
        series(point, inspections).into_iter().filter_map(of).collect()
    }

    /// Whole months from the newest change of the brake fluid before `day` to it.
    pub(crate) fn brake_fluid_months(&self, day: NaiveDate) -> Option<u16> {
        let changed = self.brake_fluid_changes.iter().filter(|changed| **changed < day).max()?;
        let begun =
            (day.year() - changed.year()) * 12 + day.month0().cast_signed() - changed.month0().cast_signed();
        let begun = u32::try_from(begun).ok()?;
        let whole = if add_months(*changed, begun) <= day { begun } else { begun.saturating_sub(1) };
        u16::try_from(whole).ok()
    }
}
