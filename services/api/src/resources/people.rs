//! People with duties in the fleet. Their details are seen and changed with the scope `admin` alone.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::organisation::{self, NewPerson as New, PersonChange as Change};
use clerk::unreachable;
use contract::{
    AddressRelease, DayOfWeek, NewPerson, NewQuietHours, Person, PersonChange, UnreachablePerson,
};
use model::{PersonId, Scope};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Person>(Scope::Admin, "list_people", "/people")
            .says("List people", "People in the order in which they were added.")
            .does(list),
        Operation::create::<NewPerson, Person>(Scope::Admin, "add_person", "/people")
            .says(
                "Add a person",
                "A person with an address gets letters about the depots they are concerned with.",
            )
            .does(create),
        Operation::get::<Person>(Scope::Admin, "read_person", "/people/{person}")
            .says(
                "Read a person",
                "One person in the present version; name and address are empty once erased.",
            )
            .does(read),
        Operation::change::<PersonChange, Person>(Scope::Admin, "change_person", "/people/{person}")
            .says("Change a person", "What is left out stays as it is.")
            .does(change),
        Operation::delete(Scope::Admin, "erase_person", "/people/{person}")
            .says(
                "Erase a person",
                "Name, address, language and quiet hours are gone; the record keeps the bare id.",
            )
            .versioned()
            .does(erase),
        Operation::list::<UnreachablePerson>(Scope::Manage, "list_unreachable_people", "/unreachable-people")
            .says(
                "List unreachable people",
                "People whose address takes no mail, as a relay said for good: no letter is tried until somebody \
                 releases the address or changes it.",
            )
            .does(unreachable_people),
        Operation::act::<AddressRelease, Person>(
            Scope::Admin,
            "release_address",
            "/people/{person}:release-address",
        )
        .says(
            "Release an address",
            "Letters go to the person's address again; what could not be told meanwhile and is still true is told.",
        )
        .does(release_address),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows = store::people::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |person| person.id, Person::from)
}

async fn create(call: Call) -> Outcome {
    let new: NewPerson = call.written()?;
    let new = New {
        role: new.role,
        depots: new.depots.0,
        name: new.name.0,
        email: new.email.map(|email| email.0),
        language: new.language.map_or_else(|| "en".to_owned(), |tag| tag.0),
        zone: new.zone,
        quiet_hours: new.quiet_hours.as_ref().map(hours),
        letter_days: new.letter_days.and_then(|days| DayOfWeek::set(&days.0)),
        letter_time: new.letter_time.map(|time| time.0),
        declined_letters: new.declined_letters.0,
    };
    let mut deed = call.begin().await?;
    let person = organisation::create_person(&mut deed.act, new).await?;
    let (place, tag) = (call.place(format!("people/{}", person.id)), Tag::version(person.version));
    deed.made(place, tag, &Person::from(person)).await
}

fn hours(hours: &NewQuietHours) -> (chrono::NaiveTime, chrono::NaiveTime) {
    (hours.from.0, hours.to.0)
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let person = there(store::people::find(&mut reading.conn(), call.fleet(), call.id("person")?).await?)?;
    Ok(Answer::versioned(person.version, &Person::from(person))?)
}

async fn change(call: Call) -> Outcome {
    let change: PersonChange = call.written()?;
    let (id, version) = (call.id("person")?, call.version()?);
    let change = Change {
        role: change.role.wanted(),
        depots: change.depots.map(|depots| depots.0),
        name: change.name.map(|name| name.0),
        email: change.email.map(|email| email.map(|email| email.0)),
        language: change.language.map(|tag| tag.0),
        zone: change.zone.wanted(),
        quiet_hours: change.quiet_hours.map(|given| given.as_ref().map(hours)),
        letter_days: change.letter_days.wanted().and_then(|days| DayOfWeek::set(&days.0)),
        letter_time: change.letter_time.wanted().map(|time| time.0),
        declined_letters: change.declined_letters.map(|letters| letters.0),
    };
    let mut deed = call.begin().await?;
    let person = organisation::change_person(&mut deed.act, id, version, change).await?;
    deed.changed(person.version, &Person::from(person)).await
}

async fn erase(call: Call) -> Outcome {
    let (id, version) = (call.id("person")?, call.version()?);
    let mut deed = call.begin().await?;
    organisation::erase_person(&mut deed.act, id, version).await?;
    deed.ended().await
}

async fn unreachable_people(call: Call) -> Outcome {
    let paging = call.paging::<PersonId>().await?;
    let mut reading = call.reading().await?;
    let all = unreachable::all(&mut reading.conn(), call.fleet()).await?;
    let after = paging.after();
    let behind = all.into_iter().filter(|one| after.is_none_or(|after| one.person > after));
    let wanted = usize::try_from(paging.fetch()).unwrap_or(usize::MAX);
    paging.answer(behind.take(wanted).collect(), |one| one.person, unreachable_person)
}

fn unreachable_person(one: unreachable::Unreachable) -> UnreachablePerson {
    UnreachablePerson { person: one.person, since: one.since, reply: one.reply }
}

async fn release_address(call: Call) -> Outcome {
    let id = call.id("person")?;
    let AddressRelease { reason } = call.written()?;
    let mut deed = call.begin().await?;
    let person = unreachable::release_address(&mut deed.act, id, reason.0).await?;
    deed.done(&Person::from(person)).await
}
