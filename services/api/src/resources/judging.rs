//! How readings are judged, in the words of the interface.

use contract::{Doubt, Judgement, OdometerReading};
use model::{Vehicle, Verdict};
use quantity::Distance;

/// A reading of a vehicle with how it is judged.
pub fn reading(reading: &model::OdometerReading, verdict: Option<&Verdict>, of: &Vehicle) -> OdometerReading {
    OdometerReading {
        id: reading.id,
        entered: reading.entered.into(),
        odometer: reading.odometer.to(of.odometer_unit).into(),
        read_at: reading.read_at,
        recorded_at: reading.recorded_at,
        source: reading.source,
        clock_in_doubt: reading.clock_in_doubt,
        judgement: verdict.map(|verdict| judgement(verdict, of)),
    }
}

/// A verdict about a reading of a vehicle.
pub fn judgement(verdict: &Verdict, of: &Vehicle) -> Judgement {
    let of_kind = |verdict: &str| Judgement {
        verdict: verdict.to_owned(),
        odometer: None,
        doubt: None,
        suggested: None,
    };
    match verdict {
        Verdict::Counted { odometer } => {
            let shown = |distance: &Distance| distance.to(of.odometer_unit).into();
            Judgement { odometer: Some(shown(odometer)), ..of_kind("counted") }
        }
        Verdict::Held { doubt: why, suggested } => {
            Judgement { doubt: Some(doubt(why, of)), suggested: suggested.map(Into::into), ..of_kind("held") }
        }
        Verdict::Withdrawn => of_kind("withdrawn"),
    }
}

/// A doubt about a reading of a vehicle.
pub fn doubt(doubt: &model::Doubt, of: &Vehicle) -> Doubt {
    let kind = match doubt {
        model::Doubt::RunsBackwards { .. } => "runs_backwards",
        model::Doubt::RunsAhead { .. } => "runs_ahead",
        model::Doubt::Jumps { .. } => "jumps",
        model::Doubt::FallsShort { .. } => "falls_short",
        model::Doubt::BeforeService { .. } => "before_service",
        model::Doubt::ClockInDoubt => "clock_in_doubt",
    };
    let clause = engine::words::doubt(doubt, of.odometer_unit, of.zone);
    Doubt { kind: kind.to_owned(), detail: sentence(&clause) }
}

/// A clause as a sentence.
fn sentence(clause: &str) -> String {
    let mut letters = clause.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}
