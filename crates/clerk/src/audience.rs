//! Whom a fired mark concerns.

use model::Role;
use model::horizon::FOLLOW_UP;

/// The duties concerned by a mark: managers by all, technicians by what must not be driven and by readings wanted, and
/// drivers too by what follows work just done on the vehicle they take out.
pub(crate) fn roles(mark: &str) -> &'static [Role] {
    match mark {
        "do_not_drive" | "reading_wanted" => &[Role::Manager, Role::Technician],
        FOLLOW_UP => &[Role::Manager, Role::Technician, Role::Driver],
        _ => &[Role::Manager],
    }
}

/// Whether a mark is told at once, whatever the hour.
pub(crate) fn is_urgent(mark: &str) -> bool {
    matches!(mark, "do_not_drive" | FOLLOW_UP)
}
