//! Check sheets: every publication is a new version, the older ones stay readable.

use crate::Act;
use crate::error::{ActError, Fault, none_of};
use model::{CheckSheet, Code, SheetPoint};

/// Publishes the next version of a check sheet.
///
/// # Errors
/// Faults for points, places or units that do not exist; storage errors.
pub async fn publish(
    act: &mut Act,
    code: Code,
    title: String,
    points: Vec<SheetPoint>,
) -> Result<CheckSheet, ActError> {
    let mut faults = Vec::new();
    if points.is_empty() {
        faults.push(Fault::new("/points", "empty", "a check sheet needs at least one point"));
    }
    for (index, line) in points.iter().enumerate() {
        check_line(index, line, &mut faults);
    }
    none_of(faults)?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let newest = store::sheets::newest(&mut act.conn(), fleet, &code).await?;
    let version = newest.map_or(1, |sheet| sheet.version + 1);
    let sheet = CheckSheet { code, version, title, points };
    store::sheets::insert(&mut act.conn(), fleet, &sheet, &stamp).await?;
    act.note("check_sheet", &sheet.code, "publish", None, Some(&sheet));
    Ok(sheet)
}

fn check_line(index: usize, line: &SheetPoint, faults: &mut Vec<Fault>) {
    let Some(point) = gauge::point(line.point.as_str()) else {
        let known: Vec<&str> = gauge::points().map(|point| point.code).collect();
        let detail = format!("there is no check point {}; there are {}", line.point, known.join(", "));
        faults.push(Fault::new(format!("/points/{index}/point"), "unknown", detail));
        return;
    };
    for (nth, place) in line.places.iter().enumerate() {
        if !point.places.contains(place) {
            let detail = format!("{} is not measured at {place}", line.point);
            faults.push(Fault::new(format!("/points/{index}/places/{nth}"), "place", detail));
        }
    }
    for (nth, unit) in line.units.iter().enumerate() {
        if !point.units.contains(unit) {
            let allowed: Vec<&str> = point.units.iter().map(|unit| unit.code()).collect();
            let detail = format!("{} is not measured in {unit}; it is in {}", line.point, allowed.join(", "));
            faults.push(Fault::new(format!("/points/{index}/units/{nth}"), "unit", detail));
        }
    }
}
