//! Whom a fired mark concerns.

use chrono::{DateTime, Utc};
use model::horizon::{DueItem, FOLLOW_UP, ItemKind, Mark, WindowOutlook};
use model::{DepotId, FleetId, Ladder, Person, Policy, Role};
use store::derived::SubjectKind;
use store::{Conn, StoreError};

/// What is told to the next people when nobody has acknowledged that a vehicle must not be driven. Neither this nor
/// [`ESCALATED`] is a mark of the vehicle's own: they fall so long after the first people were told.
pub(crate) const NEXT_PEOPLE: &str = "do_not_drive_next";

/// What is told to all managers when nobody has acknowledged what stays overdue.
pub(crate) const ESCALATED: &str = "escalated";

/// The mark of the vehicle on which what is told under `mark` rests.
pub(crate) fn standing_on(mark: &str) -> &str {
    match mark {
        NEXT_PEOPLE => "do_not_drive",
        ESCALATED => "overdue",
        own => own,
    }
}

/// Whether it is told only as long as nobody has acknowledged the first.
pub(crate) fn is_for_want_of_an_answer(mark: &str) -> bool {
    standing_on(mark) != mark
}

/// The duties concerned by a mark, where the fleet says nothing else: managers by all, technicians by what must not be
/// driven and by readings wanted, and drivers too by what follows work just done on the vehicle they take out.
fn roles(mark: &str) -> &'static [Role] {
    match mark {
        "do_not_drive" | NEXT_PEOPLE | "reading_wanted" => &[Role::Manager, Role::Technician],
        FOLLOW_UP => &[Role::Manager, Role::Technician, Role::Driver],
        _ => &[Role::Manager],
    }
}

/// Whether a mark is told at once, whatever the hour.
pub(crate) fn is_urgent(mark: &str) -> bool {
    matches!(mark, "do_not_drive" | NEXT_PEOPLE | FOLLOW_UP)
}

/// Marks whose audience no fleet can change: somebody can be hurt.
pub(crate) fn is_fixed(mark: &str) -> bool {
    is_urgent(mark)
}

/// What a fleet may name.
pub(crate) const KNOWN: &str =
    "approaching, due, overdue, escalated, postponed, reading_wanted, act_by, ended and days_30 are";

/// Whether there is a reminder of that name whose audience a fleet may choose.
pub(crate) fn is_known(reminder: &str) -> bool {
    let days = reminder.strip_prefix("days_").is_some_and(|days| days.parse::<u16>().is_ok());
    let named =
        ["approaching", "due", "overdue", ESCALATED, "postponed", "reading_wanted", "act_by", "ended"];
    days || named.contains(&reminder)
}

/// What decides who is told of a subject: which of a fleet's ladders it is on, and its marks.
#[derive(Clone, Copy)]
pub(crate) struct Rungs<'a> {
    ladder: Ladder,
    marks: &'a [Mark],
}

impl<'a> From<&'a DueItem> for Rungs<'a> {
    fn from(item: &'a DueItem) -> Self {
        let ladder = match item.kind {
            ItemKind::Paper => Ladder::Papers,
            _ => Ladder::Duties,
        };
        Self { ladder, marks: &item.marks }
    }
}

impl<'a> From<&'a WindowOutlook> for Rungs<'a> {
    fn from(window: &'a WindowOutlook) -> Self {
        Self { ladder: Ladder::Windows, marks: &window.marks }
    }
}

impl<'a> From<&'a SubjectKind> for Rungs<'a> {
    fn from(subject: &'a SubjectKind) -> Self {
        match subject {
            SubjectKind::Item(item) => item.as_ref().into(),
            SubjectKind::Window(window) => window.as_ref().into(),
        }
    }
}

/// Who is to be told of a mark, or why nobody is.
pub(crate) enum Audience {
    /// These people, in order of ids; there may be none.
    People(Vec<Person>),
    /// The fleet wants nobody to be told.
    Unwanted,
}

/// Who is concerned by `mark` of a subject at `depot`.
pub(crate) async fn of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: &Policy,
    mark: &str,
    subject: &SubjectKind,
    depot: DepotId,
) -> Result<Audience, StoreError> {
    let roles = roles_of(policy, mark, Rungs::from(subject).ladder);
    if roles.is_empty() {
        return Ok(Audience::Unwanted);
    }
    Ok(Audience::People(store::people::concerned(conn, fleet, Some(depot), roles).await?))
}

/// Whether a person is still one of those who are told of a subject at `depot`, under whatever mark; managers read of
/// everything in their list of the week.
pub(crate) fn is_concerned(policy: &Policy, person: &Person, depot: DepotId, subject: &SubjectKind) -> bool {
    let is_theirs = person.depots.is_empty() || person.depots.contains(&depot);
    is_theirs
        && (person.role == Role::Manager
            || is_told_by(policy, person.role, subject.into(), DateTime::<Utc>::MAX_UTC))
}

/// Whether people of that duty are told of it under a mark that has come by then.
pub(crate) fn is_told_by(policy: &Policy, role: Role, of: Rungs<'_>, by: DateTime<Utc>) -> bool {
    let has_come = |mark: &&Mark| mark.at <= by;
    of.marks.iter().filter(has_come).any(|mark| roles_of(policy, &mark.code, of.ladder).contains(&role))
}

/// The duties concerned by a mark on a ladder, as the fleet wants it.
fn roles_of<'p>(policy: &'p Policy, mark: &str, of: Ladder) -> &'p [Role] {
    let name = if mark.starts_with("postponed_") { "postponed" } else { mark };
    let rung = policy.told.iter().find(|rung| rung.of == of && rung.reminder == name);
    rung.filter(|_| !is_fixed(mark)).map_or_else(|| roles(mark), |rung| rung.to.as_slice())
}

/// The people to be told next under `mark` ([`NEXT_PEOPLE`] or [`ESCALATED`]): those of other depots. Where there is none,
/// those who were told are told once more of what must not be driven; of the rest their list of the week tells them.
pub(crate) async fn next_people(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: &Policy,
    mark: &str,
    subject: &SubjectKind,
    told: &[Person],
) -> Result<Vec<Person>, StoreError> {
    let roles = roles_of(policy, mark, Rungs::from(subject).ladder);
    let mut people = store::people::concerned(conn, fleet, None, roles).await?;
    let others = people.iter().any(|person| !told.iter().any(|one| one.id == person.id));
    if others || mark != NEXT_PEOPLE {
        people.retain(|person| !told.iter().any(|one| one.id == person.id));
    }
    Ok(people)
}
