//! Whom a fired mark concerns.

use model::Role;

/// The duties concerned by a mark: managers by all, technicians by what must not be driven and by readings wanted.
pub(crate) fn roles(mark: &str) -> &'static [Role] {
    match mark {
        "do_not_drive" | "reading_wanted" => &[Role::Manager, Role::Technician],
        _ => &[Role::Manager],
    }
}

/// Whether a mark is told at once, whatever the hour.
pub(crate) fn is_urgent(mark: &str) -> bool {
    mark == "do_not_drive"
}
