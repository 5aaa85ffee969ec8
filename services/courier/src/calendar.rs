//! Between what the clerk keeps of a person's calendar and what letters say of it.

use crate::gathering::told;
use clerk::post::{DayKey, Gathering, KnownDay, Revision};
use letters::{
    About, CalendarChanges, Dated, DayShown, DayTold, InCalendar, NoLonger, Reader, Telling, calendar_uid,
    moved_lines,
};
use model::horizon::{Cycle, ItemKey};

/// The telling with how its day stands in the addressee's calendar.
pub(crate) fn noted(gathering: &Gathering, telling: Telling) -> Telling {
    let about = telling.about();
    let calendar = gathering.calendar.of_day(&key(&about)).map_or_else(
        || {
            let uid = calendar_uid(&about, gathering.addressee.fleet);
            InCalendar { uid, sequence: 0, shows: None }
        },
        |known| {
            let shows = known.shows.clone().map(shown);
            InCalendar { uid: known.uid.clone(), sequence: known.next, shows }
        },
    );
    Telling { calendar: Some(calendar), ..telling }
}

/// What the letter also changes in the addressee's calendar.
pub(crate) fn changes(gathering: &Gathering, reader: Reader) -> CalendarChanges {
    let standing = gathering.calendar.standing.iter().map(|listed| noted(gathering, told(listed)));
    let moved = moved_lines(&standing.collect::<Vec<_>>(), reader);
    let no_longer = gathering.calendar.gone.iter().filter_map(|(key, day)| gone(key, day)).collect();
    CalendarChanges { moved, no_longer }
}

fn gone(key: &DayKey, day: &KnownDay) -> Option<NoLonger> {
    let about =
        About { vehicle: key.vehicle, item: ItemKey(key.item_key.clone()), cycle: Cycle(key.cycle.clone()) };
    let dated = Dated { uid: day.uid.clone(), sequence: day.next, shown: shown(day.may_show.clone()?) };
    Some(NoLonger { about, dated })
}

fn key(about: &About) -> DayKey {
    DayKey { vehicle: about.vehicle, item_key: about.item.0.clone(), cycle: about.cycle.0.clone() }
}

fn shown(revision: Revision) -> DayShown {
    DayShown { day: revision.day, label: revision.label, what: revision.what }
}

/// What a letter told, as the clerk keeps it.
pub(crate) fn revision(told: DayTold) -> Revision {
    let DayTold { method, about, dated: Dated { uid, sequence, shown } } = told;
    Revision { key: key(&about), sequence, uid, method, day: shown.day, label: shown.label, what: shown.what }
}
