//! Rulebooks: what recurs, and for whom.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::rulebooks;
use contract::{NewIntervalRule, NewRulebook, Rulebook, RulebookRevision, VersionAsked};
use model::{IntervalRule, RulebookId, Scope};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Rulebook>(Scope::Read, "list_rulebooks", "/rulebooks")
            .says(
                "List rulebooks",
                "Rulebooks in their newest versions, in the order in which they were made.",
            )
            .does(list),
        Operation::create::<NewRulebook, Rulebook>(Scope::Manage, "create_rulebook", "/rulebooks")
            .says(
                "Make a rulebook",
                "Its rules must have codes of their own and must not satisfy each other in a circle.",
            )
            .does(create),
        Operation::get::<Rulebook>(Scope::Read, "read_rulebook", "/rulebooks/{rulebook}")
            .says("Read a rulebook", "Its newest version, or any other.")
            .filtered::<VersionAsked>()
            .does(read),
        Operation::act::<RulebookRevision, Rulebook>(
            Scope::Manage,
            "revise_rulebook",
            "/rulebooks/{rulebook}:revise",
        )
        .says(
            "Revise a rulebook",
            "Adds a version; the versions before it stay readable. Its vehicles are computed anew.",
        )
        .versioned()
        .does(revise),
    ]
}

fn rules(written: Vec<NewIntervalRule>) -> Vec<IntervalRule> {
    // A rule without a trigger was refused when the body was read.
    written.into_iter().filter_map(NewIntervalRule::rule).collect()
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::rulebooks::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |book| book.id, Rulebook::from)
}

async fn create(call: Call) -> Outcome {
    let new: NewRulebook = call.written()?;
    let mut deed = call.begin().await?;
    let book = rulebooks::create(&mut deed.act, new.title.0, rules(new.rules.0)).await?;
    let (place, tag) = (call.place(format!("rulebooks/{}", book.id)), Tag::version(book.version));
    deed.made(place, tag, &Rulebook::from(book)).await
}

async fn read(call: Call) -> Outcome {
    let VersionAsked { version } = call.asked()?;
    let id: RulebookId = call.id("rulebook")?;
    let mut reading = call.reading().await?;
    let found = match version {
        Some(version) => {
            store::rulebooks::find_version(&mut reading.conn(), call.fleet(), id, version.0).await?
        }
        None => store::rulebooks::find(&mut reading.conn(), call.fleet(), id).await?,
    };
    let book = there(found)?;
    Ok(Answer::versioned(book.version, &Rulebook::from(book))?)
}

async fn revise(call: Call) -> Outcome {
    let revision: RulebookRevision = call.written()?;
    let (id, version) = (call.id("rulebook")?, call.version()?);
    let mut deed = call.begin().await?;
    let before = there(store::rulebooks::find(&mut deed.act.conn(), call.fleet(), id).await?)?;
    let title = revision.title.map(|title| title.0).unwrap_or(before.title);
    let book = rulebooks::revise(&mut deed.act, id, version, title, rules(revision.rules.0)).await?;
    deed.changed(book.version, &Rulebook::from(book)).await
}
