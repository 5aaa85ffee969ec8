//! What ships with the program: rulebooks and check sheets, read from `seed/` when it was built.

use anyhow::Context;
use clerk::Act;
use model::{Code, IntervalRule, RulebookId, SheetPoint};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The shipped rulebooks, by name.
const RULEBOOKS: [(&str, &str); 3] = [
    ("diesel-van", include_str!("../../../seed/rulebooks/diesel-van.toml")),
    ("hybrid-car", include_str!("../../../seed/rulebooks/hybrid-car.toml")),
    ("battery-electric-car", include_str!("../../../seed/rulebooks/battery-electric-car.toml")),
];

/// The shipped check sheets.
const SHEETS: [&str; 10] = [
    include_str!("../../../seed/check-sheets/yard-walk.toml"),
    include_str!("../../../seed/check-sheets/driver-check.toml"),
    include_str!("../../../seed/check-sheets/wheels-and-brakes.toml"),
    include_str!("../../../seed/check-sheets/fluids.toml"),
    include_str!("../../../seed/check-sheets/winter-readiness.toml"),
    include_str!("../../../seed/check-sheets/battery-electric.toml"),
    include_str!("../../../seed/check-sheets/capacity-test.toml"),
    include_str!("../../../seed/check-sheets/heavier-vehicle.toml"),
    include_str!("../../../seed/check-sheets/closing-check.toml"),
    include_str!("../../../seed/check-sheets/return-check.toml"),
];

#[derive(Deserialize)]
struct RulebookFile {
    title: String,
    rules: Vec<IntervalRule>,
}

#[derive(Deserialize)]
struct SheetFile {
    code: Code,
    title: String,
    points: Vec<SheetPoint>,
}

/// Enters the shipped rulebooks and check sheets into the fleet acted in; comes back with the books' ids by name.
pub async fn plant(act: &mut Act) -> anyhow::Result<BTreeMap<&'static str, RulebookId>> {
    let mut books = BTreeMap::new();
    for (name, text) in RULEBOOKS {
        let file: RulebookFile = toml::from_str(text).with_context(|| format!("reading rulebook {name}"))?;
        let book = clerk::rulebooks::create(act, file.title, file.rules).await;
        books.insert(name, book.with_context(|| format!("entering rulebook {name}"))?.id);
    }
    for text in SHEETS {
        let file: SheetFile = toml::from_str(text).context("reading a check sheet")?;
        let name = file.code.clone();
        let sheet = clerk::sheets::publish(act, file.code, file.title, file.points).await;
        sheet.with_context(|| format!("entering check sheet {name}"))?;
    }
    Ok(books)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheets() -> Vec<SheetFile> {
        SHEETS.iter().map(|text| toml::from_str(text).expect("a check sheet")).collect()
    }

    #[test]
    fn the_yard_walk_takes_ten_entries_a_car_at_most() {
        let sheets = sheets();
        let walk = sheets.iter().find(|sheet| sheet.code.as_str() == "yard-walk").expect("the yard walk");
        let odometer = 1;
        let entries: usize = walk.points.iter().map(|line| line.places.len()).sum();
        assert!(entries + odometer <= 10, "{entries} and the odometer");
    }

    #[test]
    fn every_line_says_where_and_how_in_one_sentence() {
        for sheet in sheets() {
            for line in &sheet.points {
                let at = format!("{} {}", sheet.code, line.point);
                assert!(line.how.ends_with('.') && !line.how.contains(". "), "{at}: {}", line.how);
                assert!(!line.places.is_empty(), "{at}");
            }
        }
    }

    #[test]
    fn every_line_whose_work_can_hurt_bears_a_caution() {
        let hurts = [
            "pressure",
            "tread",
            "pad-",
            "shoe-",
            "rotor-thickness",
            "joints",
            "coolant-con",
            "coolant-level",
        ];
        let hurts = hurts.iter().chain(&[
            "brake-fluid-b",
            "brake-fluid-l",
            "battery-v",
            "battery-cr",
            "traction",
            "leaks",
        ]);
        let hurts: Vec<&&str> = hurts.collect();
        for sheet in sheets() {
            for line in &sheet.points {
                let can_hurt = hurts.iter().any(|part| line.point.as_str().contains(**part));
                assert!(!can_hurt || line.caution.is_some(), "{} {}", sheet.code, line.point);
            }
        }
    }

    #[test]
    fn no_sheet_stands_in_the_list_twice_and_all_that_were_written_ship() {
        let mut codes: Vec<String> = sheets().iter().map(|sheet| sheet.code.to_string()).collect();
        codes.sort_unstable();
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../seed/check-sheets");
        let files = std::fs::read_dir(folder).expect("the folder");
        let mut names: Vec<String> = files
            .map(|file| {
                file.expect("a file").file_name().to_string_lossy().trim_end_matches(".toml").to_owned()
            })
            .collect();
        names.sort_unstable();
        assert_eq!(codes, names);
    }
}
