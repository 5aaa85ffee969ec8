//! Tables of physical values for comparison with other implementations (`tests/oracles`).
//!
//! `physical_tables freezing`: glycol, basis, percent and freeze point in kelvins, each half percent of the tables.
//! `physical_tables pressures`: kilopascals of a sealed tyre (gauge), its two temperatures in kelvins, and what it shows.

use gauge::coolant::{Basis, Concentration, Glycol, freeze_point};
use gauge::{Air, gauge_at};
use quantity::{Entered, Pressure, Temperature, Unit};
use std::process::ExitCode;

fn main() -> ExitCode {
    match std::env::args().nth(1).as_deref() {
        Some("freezing") => freezing(),
        Some("pressures") => pressures(),
        _ => {
            eprintln!("physical_tables freezing | pressures");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}

fn freezing() {
    for (glycol, name) in [(Glycol::Ethylene, "ethylene"), (Glycol::Propylene, "propylene")] {
        for (basis, word) in [(Basis::Volume, "volume"), (Basis::Mass, "mass")] {
            for halves in 0..=120_u8 {
                let percent = f64::from(halves) / 2.0;
                let entered = Entered::new(percent, Unit::Percent);
                let told =
                    Concentration::parse(entered, glycol, basis).ok().and_then(|c| freeze_point(c).ok());
                if let Some(point) = told {
                    println!("{name} {word} {percent} {}", point.by_table.kelvin());
                }
            }
        }
    }
}

fn pressures() {
    for kpa in (100_i64..=600).step_by(50) {
        for (from, to) in [(293_150, 253_150), (293_150, 273_150), (303_150, 258_150), (268_150, 298_150)] {
            let air = |mk| Air::at_sea_level(Temperature::from_mk(mk));
            let Some(shown) = gauge_at(Pressure::from_mpa(kpa * 1_000_000), air(from), air(to)) else {
                continue;
            };
            let kelvin = |mk| Temperature::from_mk(mk).kelvin();
            println!("{kpa} {} {} {}", kelvin(from), kelvin(to), shown.kpa());
        }
    }
}
