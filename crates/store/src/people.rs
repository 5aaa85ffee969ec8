//! People and their duties; personal details lie in a table of their own and can be erased.

use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::rows::{each, one};
use crate::{Conn, StoreError};
use chrono::{DateTime, NaiveTime, Utc};
use chrono_tz::Tz;
use model::{DepotId, FleetId, LETTER_TIME, Person, PersonId, Role, Weekdays};
use uuid::Uuid;

/// Language tag of a person without details: undetermined (BCP 47, ISO 639-2).
const UNDETERMINED: &str = "und";

statements! {
    INSERT = {
        "INSERT INTO person (fleet_id, id, role, depots, version, recorded_at) VALUES ($1, $2, $3, $4, $5, $6)"
    }
    KEEP_DETAILS = {
        "INSERT INTO person_details (fleet_id, person_id, name, email, language, zone, quiet_from, quiet_to, letter_days,"
        "letter_time, declined_letters) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
        "ON CONFLICT (fleet_id, person_id) DO UPDATE SET name = excluded.name, email = excluded.email,"
        "language = excluded.language, zone = excluded.zone, quiet_from = excluded.quiet_from,"
        "quiet_to = excluded.quiet_to, letter_days = excluded.letter_days, letter_time = excluded.letter_time,"
        "declined_letters = excluded.declined_letters"
    }
    FIND = {
        "SELECT p.id, p.role, p.depots, p.version, d.name, d.email, d.language, d.zone, d.quiet_from, d.quiet_to,"
        "d.letter_days, d.letter_time, d.declined_letters"
        "FROM person AS p LEFT JOIN person_details AS d ON d.fleet_id = p.fleet_id AND d.person_id = p.id"
        "WHERE p.fleet_id = $1 AND p.id = $2"
    }
    FIND_PRESENT = {
        "SELECT p.id, p.role, p.depots, p.version, d.name, d.email, d.language, d.zone, d.quiet_from, d.quiet_to,"
        "d.letter_days, d.letter_time, d.declined_letters"
        "FROM person AS p LEFT JOIN person_details AS d ON d.fleet_id = p.fleet_id AND d.person_id = p.id"
        "WHERE p.fleet_id = $1 AND p.id = $2 AND p.removed_at IS NULL"
    }
    PAGE = {
        "SELECT p.id, p.role, p.depots, p.version, d.name, d.email, d.language, d.zone, d.quiet_from, d.quiet_to,"
        "d.letter_days, d.letter_time, d.declined_letters"
        "FROM person AS p LEFT JOIN person_details AS d ON d.fleet_id = p.fleet_id AND d.person_id = p.id"
        "WHERE p.fleet_id = $1 AND p.removed_at IS NULL AND p.id > $2 ORDER BY p.id LIMIT $3"
    }
    ALL = {
        "SELECT p.id, p.role, p.depots, p.version, d.name, d.email, d.language, d.zone, d.quiet_from, d.quiet_to,"
        "d.letter_days, d.letter_time, d.declined_letters"
        "FROM person AS p LEFT JOIN person_details AS d ON d.fleet_id = p.fleet_id AND d.person_id = p.id"
        "WHERE p.fleet_id = $1 AND p.removed_at IS NULL ORDER BY p.id"
    }
    UPDATE = {
        "UPDATE person SET role = $4, depots = $5, version = version + 1"
        "WHERE fleet_id = $1 AND id = $2 AND version = $3 AND removed_at IS NULL"
    }
    REMOVE = {
        "UPDATE person SET removed_at = $4, version = version + 1"
        "WHERE fleet_id = $1 AND id = $2 AND version = $3 AND removed_at IS NULL"
    }
    /// Its person's calendar is nobody's any more.
    ERASE_CALENDAR = { "DELETE FROM calendar_day WHERE fleet_id = $1 AND person_id = $2" }
    ERASE_DETAILS = { "DELETE FROM person_details WHERE fleet_id = $1 AND person_id = $2" }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    role: String,
    depots: String,
    version: i64,
    name: Option<String>,
    email: Option<String>,
    language: Option<String>,
    zone: Option<String>,
    quiet_from: Option<String>,
    quiet_to: Option<String>,
    letter_days: Option<i64>,
    letter_time: Option<String>,
    declined_letters: Option<String>,
}

impl TryFrom<Row> for Person {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("person", row.id);
        Ok(Self {
            id: PersonId(row.id),
            role: at.word("role", &row.role, Role::from_word)?,
            depots: at.json("depots", &row.depots)?,
            name: row.name.unwrap_or_default(),
            email: row.email,
            language: row.language.unwrap_or_else(|| UNDETERMINED.to_owned()),
            zone: row.zone.map_or(Ok(Tz::UTC), |zone| at.zone("zone", &zone))?,
            quiet_hours: quiet_hours(at, row.quiet_from.as_deref(), row.quiet_to.as_deref())?,
            letter_days: row
                .letter_days
                .map_or(Ok(Weekdays::MONDAY_TO_FRIDAY), |bits| letter_days(at, bits))?,
            letter_time: row.letter_time.map_or(Ok(LETTER_TIME), |text| time(at, "letter_time", &text))?,
            declined_letters: row
                .declined_letters
                .map_or(Ok(Vec::new()), |text| at.json("declined_letters", &text))?,
            version: row.version,
        })
    }
}

fn quiet_hours(
    at: InRow,
    from: Option<&str>,
    to: Option<&str>,
) -> Result<Option<(NaiveTime, NaiveTime)>, StoreError> {
    match (from, to) {
        (Some(from), Some(to)) => Ok(Some((time(at, "quiet_from", from)?, time(at, "quiet_to", to)?))),
        _ => Ok(None),
    }
}

fn time(at: InRow, column: &'static str, text: &str) -> Result<NaiveTime, StoreError> {
    text.parse().map_err(|problem| at.fault(column, problem))
}

fn letter_days(at: InRow, bits: i64) -> Result<Weekdays, StoreError> {
    let named = at.whole("letter_days", bits).map(Weekdays::from_bits)?;
    named.ok_or_else(|| at.fault("letter_days", format_args!("{bits} names no days")))
}

/// Keeps a new person with details.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    let Person { id, role, depots, version, .. } = person;
    execute!(conn, INSERT, fleet.0, id.0, role.word(), json_text(depots), *version, at)?;
    keep_details(conn, fleet, person).await
}

async fn keep_details(conn: &mut Conn<'_>, fleet: FleetId, person: &Person) -> Result<(), StoreError> {
    execute!(
        conn,
        KEEP_DETAILS,
        fleet.0,
        person.id.0,
        &person.name,
        person.email.as_deref(),
        &person.language,
        person.zone.name(),
        person.quiet_hours.map(|(from, _)| from.to_string()),
        person.quiet_hours.map(|(_, to)| to.to_string()),
        i64::from(person.letter_days.bits()),
        person.letter_time.to_string(),
        json_text(&person.declined_letters),
    )?;
    Ok(())
}

/// The person of that id; one who was erased has an empty name and no address.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: PersonId) -> Result<Option<Person>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// The person of that id, unless removed.
pub async fn find_present(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: PersonId,
) -> Result<Option<Person>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND_PRESENT, fleet.0, id.0)?)
}

/// People behind `after`, in order of ids; those removed are left out.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<PersonId>,
    limit: i64,
) -> Result<Vec<Person>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, behind_id(after.map(|id| id.0)), limit)?)
}

/// Everybody, in order of ids; those removed are left out.
pub async fn all(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Person>, StoreError> {
    each(fetch!(fetch_all, conn, Row, ALL, fleet.0)?)
}

/// People of these duties who are concerned with `depot`, or with any if none is said, in order of ids; those removed are
/// left out.
pub async fn concerned(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: Option<DepotId>,
    roles: &[Role],
) -> Result<Vec<Person>, StoreError> {
    let all = all(conn, fleet).await?;
    let concerned = |person: &Person| {
        roles.contains(&person.role)
            && (person.depots.is_empty() || depot.is_none_or(|depot| person.depots.contains(&depot)))
    };
    Ok(all.into_iter().filter(concerned).collect())
}

/// Managers, in order of ids; those removed are left out.
pub async fn managers(conn: &mut Conn<'_>, fleet: FleetId) -> Result<Vec<Person>, StoreError> {
    let all = all(conn, fleet).await?;
    Ok(all.into_iter().filter(|person| person.role == Role::Manager).collect())
}

/// Changes a person who still has version `expected` and raises the version; `false` if the person has not, or is
/// removed.
pub async fn update(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    expected: i64,
) -> Result<bool, StoreError> {
    let Person { id, role, depots, .. } = person;
    let touched = execute!(conn, UPDATE, fleet.0, id.0, expected, role.word(), json_text(depots))?;
    if touched == 1 {
        keep_details(conn, fleet, person).await?;
    }
    Ok(touched == 1)
}

/// Removes a person who still has version `expected` and erases the details and what the calendar was told; `false` if the person has not, or is
/// removed already.
pub async fn erase(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: PersonId,
    expected: i64,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let touched = execute!(conn, REMOVE, fleet.0, id.0, expected, at)?;
    if touched == 1 {
        execute!(conn, ERASE_DETAILS, fleet.0, id.0)?;
        execute!(conn, ERASE_CALENDAR, fleet.0, id.0)?;
    }
    Ok(touched == 1)
}
