//! Everything that was ever measured or answered at one check point, in the order of time.

use crate::points::point;
use model::{Inspection, Measurement};

/// One value at one place, and the inspection that took it.
#[derive(Debug, Clone, Copy)]
pub struct Noted<'a> {
    /// The inspection.
    pub inspection: &'a Inspection,
    /// The value.
    pub value: &'a Measurement,
}

impl Noted<'_> {
    /// The word that was given in answer, where the point is answered by one.
    pub fn word(&self) -> Option<&'static str> {
        let point = point(self.value.point.as_str())?;
        point.answer_kept(self.value.exact).map(|answer| answer.word)
    }
}

/// The values of the check point with this code by time, inspection, place and id.
///
/// As for grades, inspections whose time is in doubt are left out, and so are values outside the point's range.
pub fn series<'a>(code: &str, inspections: &'a [Inspection]) -> Vec<Noted<'a>> {
    let Some(point) = point(code) else { return Vec::new() };
    let sure = inspections.iter().filter(|inspection| !inspection.clock_in_doubt);
    let of_point = |value: &&Measurement| value.point.as_str() == code && point.would_take(value);
    let mut noted: Vec<Noted<'_>> = sure
        .flat_map(|inspection| {
            let values = inspection.measurements.iter().filter(of_point);
            values.map(move |value| Noted { inspection, value })
        })
        .collect();
    noted.sort_by_key(|noted| {
        (noted.inspection.performed_at, noted.inspection.id, noted.value.place, noted.value.id)
    });
    noted
}
