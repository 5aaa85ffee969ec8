//! Calendars: each revision of a day is told by one letter alone (RFC 5545, 3.8.7.4).

use crate::life::Broken;
use crate::relay::Taken;
use crate::world::World;
use std::collections::BTreeMap;

/// One revision of a day, as a letter told it.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Told<'a> {
    to: &'a str,
    uid: String,
    sequence: u64,
    /// What the calendar is to do with it.
    pub method: String,
}

/// What a letter tells calendars. Lines that matter are short ASCII, so that no transfer encoding but base64 changes them.
pub fn told(taken: &Taken) -> Vec<Told<'_>> {
    let (mut told, mut method, mut uid) = (Vec::new(), String::new(), String::new());
    for line in taken.text.lines() {
        match line.split_once(':') {
            Some(("METHOD", word)) => word.clone_into(&mut method),
            Some(("UID", id)) => id.clone_into(&mut uid),
            Some(("SEQUENCE", number)) => {
                let sequence = number.parse().unwrap_or(u64::MAX);
                told.push(Told { to: &taken.to, uid: uid.clone(), sequence, method: method.clone() });
            }
            _ => {}
        }
    }
    told
}

/// A calendar takes what it knows already for a repetition, whatever it says.
pub fn no_revision_is_told_twice(world: &World) -> Result<(), Broken> {
    let taken = world.relay.taken();
    let mut letters: BTreeMap<Told<'_>, &str> = BTreeMap::new();
    for letter in &taken {
        for day in told(letter) {
            let (uid, sequence) = (day.uid.clone(), day.sequence);
            let before = letters.insert(Told { method: String::new(), ..day }, &letter.message_id);
            if let Some(before) = before.filter(|before| *before != letter.message_id) {
                let how = format!("{before} and {} tell revision {sequence} of {uid}", letter.message_id);
                return Err(Broken::new("a calendar is told each revision once", how));
            }
        }
    }
    Ok(())
}
