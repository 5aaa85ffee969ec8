//! How readings are judged, in the words of the interface.

use contract::{Doubt, HourJudgement, HourReading, Judgement, OdometerReading};
use model::{HourVerdict, Vehicle, Verdict};
use quantity::{Distance, Entered, Unit};

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
        judgement: verdict.map(|verdict| Judgement {
            asks: engine::words::replacement_question(reading.odometer, verdict).map(str::to_owned),
            ..judgement(verdict, of)
        }),
    }
}

/// A reading of a vehicle's running hours with how it is judged.
pub fn hour_reading(
    reading: &model::HourReading,
    verdict: Option<&HourVerdict>,
    of: &Vehicle,
) -> HourReading {
    HourReading::of(reading, verdict.map(|verdict| hour_judgement(verdict, of)))
}

/// A verdict about a reading of running hours.
pub fn hour_judgement(verdict: &HourVerdict, of: &Vehicle) -> HourJudgement {
    let of_kind = |verdict: &str| HourJudgement {
        verdict: verdict.to_owned(),
        hours: None,
        doubt: None,
        suggested: None,
    };
    match verdict {
        HourVerdict::Counted { seconds } => HourJudgement {
            hours: Some(Entered::from_exact(*seconds, Unit::Hour).into()),
            ..of_kind("counted")
        },
        HourVerdict::Held { doubt, suggested } => {
            let kind = match doubt {
                model::HourDoubt::RunsBackwards { .. } => "runs_backwards",
                model::HourDoubt::RunsAhead { .. } => "runs_ahead",
                model::HourDoubt::Jumps { .. } => "jumps",
                model::HourDoubt::FallsShort { .. } => "falls_short",
                model::HourDoubt::ClockInDoubt => "clock_in_doubt",
            };
            let detail = sentence(&engine::words::hour_doubt(doubt, of.zone));
            let doubt = Some(Doubt { kind: kind.to_owned(), detail });
            HourJudgement { doubt, suggested: suggested.map(Into::into), ..of_kind("held") }
        }
        HourVerdict::Withdrawn => of_kind("withdrawn"),
    }
}

/// A verdict about a reading of a vehicle.
pub fn judgement(verdict: &Verdict, of: &Vehicle) -> Judgement {
    let of_kind = |verdict: &str| Judgement {
        verdict: verdict.to_owned(),
        odometer: None,
        doubt: None,
        suggested: None,
        asks: None,
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
