//! Numbers in sentences, in the unit the technician used.

use quantity::{Entered, Unit};

/// The exact integer in the unit entered.
pub(crate) fn shown(exact: i64, unit: Unit) -> String {
    Entered::from_exact(exact, unit).to_string()
}

/// A published number in the unit entered, and beside it as published where the units differ.
pub(crate) fn published(value: Entered, exact: i64, unit: Unit) -> String {
    if value.unit == unit {
        return value.to_string();
    }
    format!("{} ({value})", shown(exact, unit))
}

/// A pressure to be set: rounded up to what a gauge can show, so that the number told is never the lower one.
pub(crate) fn to_be_set(value: Entered, exact: i64, unit: Unit) -> String {
    if value.unit == unit && is_told_whole(value) {
        return value.to_string();
    }
    let steps_per_unit = if unit == Unit::Bar { 100.0 } else { 10.0 };
    let steps = (Entered::from_exact(exact, unit).value * steps_per_unit - 1e-6).ceil();
    let raised = Entered::new(steps / steps_per_unit, unit);
    if value.unit == unit { raised.to_string() } else { format!("{raised} ({value})") }
}

/// Whether three decimals, as many as are shown, tell the whole number.
fn is_told_whole(value: Entered) -> bool {
    let thousandths = value.value * 1000.0;
    (thousandths - thousandths.round()).abs() < 1e-6
}
