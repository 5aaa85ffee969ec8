//! Writes a letter of every kind in every language into a folder, beside each what is to be found in it.
//!
//!     cargo run -p letters --example every_kind -- FOLDER
//!
//! `NAME.LANGUAGE.eml` is the letter, `NAME.LANGUAGE.json` what its facts say. Programs that are not ours read both in
//! `tests/checks/`, and a browser shows the HTML.

#[expect(dead_code, reason = "shared with the tests, which need more of it")]
#[path = "../tests/letters/world.rs"]
mod world;

#[path = "../tests/letters/samples.rs"]
mod samples;

use letters::{About, Content, Dated, Language, LetterFacts, VehicleLine, calendar_uid, compose};
use serde_json::{Value, json};
use std::error::Error;
use std::fs;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("usage: every_kind FOLDER")?);
    fs::create_dir_all(&folder)?;
    for language in Language::ALL {
        for sample in samples::samples(language) {
            let name = format!("{}.{}", sample.name, language.tag());
            fs::write(folder.join(format!("{name}.eml")), compose(&sample.facts)?.bytes)?;
            fs::write(folder.join(format!("{name}.json")), expected(&sample.facts).to_string())?;
        }
    }
    Ok(())
}

/// What the facts of a letter say, as plain as possible.
fn expected(facts: &LetterFacts) -> Value {
    let lines: Vec<&VehicleLine> = match &facts.content {
        Content::AtOnce(listing) | Content::Notices(listing) => listing.lines.iter().collect(),
        Content::WeekAhead(week) => week.lines.iter().collect(),
        Content::DayAhead(day) => day.depots.iter().flat_map(|depot| &depot.lines).collect(),
        Content::SignIn(_) | Content::AddressTest => Vec::new(),
    };
    let lines: Vec<&VehicleLine> = lines.into_iter().chain(&facts.changes.moved).collect();
    let gone = &facts.changes.no_longer;
    let items: Vec<_> = lines.iter().flat_map(|line| &line.items).collect();
    let published = items.iter().filter_map(|item| Some(day(&item.about, item.dated.as_ref()?, "PUBLISH")));
    let cancelled = gone.iter().map(|gone| day(&gone.about, &gone.dated, "CANCEL"));
    let plates = lines.iter().filter_map(|line| line.plate.as_deref());
    let labels = lines.iter().map(|line| line.label.as_str());
    let names =
        labels.chain(gone.iter().flat_map(|gone| [gone.dated.shown.label.as_str(), &gone.dated.shown.what]));
    json!({
        "kind": facts.content.kind().word(),
        "language": facts.language.tag(),
        "optional": facts.content.is_optional(),
        "message_id": facts.message_id,
        "to": [facts.to_name, facts.to_address],
        "base_url": facts.base_url,
        "told": names.chain(plates).chain(items.iter().map(|item| item.text.as_str())).collect::<Vec<_>>(),
        "days": published.chain(cancelled).collect::<Vec<_>>(),
    })
}

fn day(about: &About, dated: &Dated, method: &str) -> Value {
    json!({
        "uid": calendar_uid(about, world::fleet()),
        "day": dated.shown.day.to_string(),
        "sequence": dated.sequence,
        "summary": format!("{}: {}", dated.shown.label, dated.shown.what),
        "method": method,
    })
}
