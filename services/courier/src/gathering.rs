//! From a person's waiting notices to a sealed letter.

use crate::calendar;
use crate::courier::{Courier, CourierError, Ticked};
use chrono::{DateTime, TimeDelta, Utc};
use clerk::ActError;
use clerk::post::{self, Addressee, Ahead, GatheredNotice, Gathering, Listed, SealedLetter, Subject};
use letters::links::{ItemLinks, Linking};
use letters::{
    Composed, Content, DayAhead, DepotLines, Language, LetterError, LetterFacts, Listing, Reader, Tally,
    Telling, Told, Unanswered, Unreachable, VehicleCard, VehicleLine, WeekAhead,
};
use model::{FleetId, OptionalLetter, PersonId, Role};
use std::collections::{BTreeMap, HashMap};

/// People looked at in one tick.
const MOST: u32 = 200;

/// A letter that could not be written is tried again after a minute; after so many times, once an hour.
const TRIES: u32 = 3;

/// Nobody is set aside for longer: what says otherwise was noted under a clock that ran ahead.
const LONGEST: TimeDelta = TimeDelta::hours(1);

/// People whose letter could not be written, so that they hold nobody else up.
#[derive(Debug, Default)]
pub struct SetAside(HashMap<(FleetId, PersonId), (u32, DateTime<Utc>)>);

impl SetAside {
    fn holds(&self, whom: (FleetId, PersonId), now: DateTime<Utc>) -> bool {
        self.0.get(&whom).is_some_and(|(_, until)| now < *until && *until - now <= LONGEST)
    }

    fn put(&mut self, whom: (FleetId, PersonId), now: DateTime<Utc>) {
        let (tries, until) = self.0.entry(whom).or_insert((0, now));
        *tries += 1;
        *until = now + if *tries < TRIES { TimeDelta::minutes(1) } else { TimeDelta::hours(1) };
    }

    fn count(&self) -> u32 {
        u32::try_from(self.0.len()).unwrap_or(u32::MAX)
    }
}

impl Courier {
    /// Makes a letter for everybody who has notices waiting.
    pub(crate) async fn gather(
        &self,
        set_aside: &mut SetAside,
        ticked: &mut Ticked,
    ) -> Result<(), CourierError> {
        let most = MOST.saturating_add(set_aside.count());
        for whom in post::waiting_addressees(&self.clerk, most).await? {
            if self.is_held() || set_aside.holds(whom, self.clerk.now()) {
                continue;
            }
            match self.gather_for(whom).await {
                Ok(made) => {
                    set_aside.0.remove(&whom);
                    ticked.gathered += usize::from(made);
                }
                // A store that is away is away for everybody.
                Err(CourierError::Store(error @ ActError::Unavailable(_))) => return Err(error.into()),
                Err(error) => {
                    let error: &dyn std::error::Error = &error;
                    tracing::error!(fleet = %whom.0, person = %whom.1, error, "a letter cannot be written");
                    set_aside.put(whom, self.clerk.now());
                    ticked.unwritable += 1;
                }
            }
        }
        Ok(())
    }

    /// Whether a letter was made. The notices and the letter are one transaction; a letter that cannot be written undoes
    /// it, and the notices wait on.
    async fn gather_for(&self, (fleet, person): (FleetId, PersonId)) -> Result<bool, CourierError> {
        let Some(gathering) = post::open_gathering(&self.clerk, fleet, person).await? else {
            return Ok(false);
        };
        let sealed = self.write(&gathering)?;
        let notices = gathering.notices.len();
        let letter = gathering.seal(sealed).await?;
        tracing::info!(%letter, %fleet, notices, "letter made");
        Ok(true)
    }

    fn write(&self, gathering: &Gathering) -> Result<SealedLetter, LetterError> {
        let (addressee, now) = (&gathering.addressee, gathering.at());
        let person = &addressee.person;
        let linking = self.linking(gathering);
        let listed = gathering.digest.listed.iter().map(told);
        let tellings = gathering.notices.iter().map(telling).chain(listed);
        let mut tellings: Vec<Telling> =
            tellings.map(|telling| calendar::noted(gathering, telling)).collect();
        if let Some(linking) = &linking {
            for telling in &mut tellings {
                link(telling, linking, person.role);
            }
        }
        let address = person.email.clone().unwrap_or_default();
        let message_id = letters::message_id(gathering.letter_id(), &self.domain);
        let language = Language::of(&person.language);
        let reader = Reader { role: person.role, now, language };
        let lines = letters::vehicle_lines(&tellings, reader);
        let content = content(gathering, lines, linking.as_ref());
        let facts = LetterFacts {
            from: self.settings.from.clone(),
            to_name: person.name.clone(),
            to_address: address.clone(),
            message_id: message_id.clone(),
            date: now,
            zone: person.zone,
            language,
            fleet: addressee.fleet_name.clone(),
            fleet_id: addressee.fleet,
            base_url: self.settings.base_url.clone(),
            content,
            changes: calendar::changes(gathering, reader),
        };
        let Composed { subject, bytes, days } = letters::compose(&facts)?;
        let days = days.into_iter().map(calendar::revision).collect();
        Ok(SealedLetter { kind: facts.content.kind(), subject, message_id, address, bytes, days })
    }

    /// What makes the letter's links, where the settings say where they lead and what signs them.
    fn linking(&self, gathering: &Gathering) -> Option<Linking<'_>> {
        let (base_url, key) = (self.settings.base_url.as_deref()?, self.settings.link_key.as_ref()?);
        let Addressee { fleet, person, .. } = &gathering.addressee;
        Some(Linking { fleet: *fleet, person: person.id, now: gathering.at(), base_url, key })
    }
}

/// Puts in the links to what somebody of that duty may do.
fn link(telling: &mut Telling, linking: &Linking<'_>, role: Role) {
    let links = linking.item(&telling.about());
    telling.links = ItemLinks {
        seen: links.seen.filter(|_| role.may_acknowledge()),
        postpone: links.postpone.filter(|_| role.may_postpone()),
    };
}

/// Which letter it is: what cannot wait makes it one that goes at once, whatever else it says.
fn content(gathering: &Gathering, lines: Vec<VehicleLine>, linking: Option<&Linking<'_>>) -> Content {
    let ring = gathering.addressee.to_ring.clone();
    let listing = |ring, lines| Listing { ring, lines };
    if gathering.notices.iter().any(|notice| notice.urgent) {
        return Content::AtOnce(listing(ring, lines));
    }
    let unsubscribe = |letter| linking.and_then(|linking: &Linking<'_>| linking.unsubscribe(letter));
    match gathering.digest.ahead() {
        None => Content::Notices(listing(ring, lines)),
        Some(Ahead::Week(monday)) => {
            let (tally, unreachable) = (tally(gathering), unreachable(gathering));
            let unsubscribe = unsubscribe(OptionalLetter::WeekAhead);
            Content::WeekAhead(WeekAhead { monday, tally, unreachable, ring, lines, unsubscribe })
        }
        Some(Ahead::Day(day)) => {
            let (depots, unsubscribe) = (by_depot(gathering, lines), unsubscribe(OptionalLetter::DayAhead));
            Content::DayAhead(DayAhead { day, ring, depots, unsubscribe })
        }
    }
}

fn tally(gathering: &Gathering) -> Tally {
    let post::Tally { do_not_drive, overdue, off_road, held, readings_wanted } = gathering.digest.tally;
    Tally { do_not_drive, overdue, off_road, held, readings_wanted }
}

fn unreachable(gathering: &Gathering) -> Vec<Unreachable> {
    let zone = gathering.addressee.person.zone;
    let unreachable = gathering.digest.unreachable.iter().map(|one| Unreachable {
        name: one.name.clone(),
        since: model::local_day(one.since, zone),
        reply: one.reply.clone(),
    });
    unreachable.collect()
}

/// The lines, in their order, under the depot of each vehicle; depots in order of their names.
fn by_depot(gathering: &Gathering, lines: Vec<VehicleLine>) -> Vec<DepotLines> {
    let mut depots: BTreeMap<_, DepotLines> = BTreeMap::new();
    for line in lines {
        let vehicle = line.items.first().map(|item| item.about.vehicle);
        let stands = vehicle.and_then(|vehicle| gathering.depots.of_vehicle(vehicle));
        let depot = stands.map(|(name, _)| name.to_owned()).unwrap_or_default();
        depots.entry(stands).or_insert_with(|| DepotLines { depot, lines: Vec::new() }).lines.push(line);
    }
    depots.into_values().collect()
}

fn telling(notice: &GatheredNotice) -> Telling {
    let mark = notice.mark.clone();
    let unanswered = notice.unanswered.as_ref().map(|one| {
        let post::Unanswered { since, told, with_addressee } = one.clone();
        Unanswered { since, told, with_reader: with_addressee }
    });
    let (vehicle, subject) = (notice.vehicle.clone(), notice.subject.clone());
    let told = told(&Listed { vehicle, subject, reason: notice.reason.clone() });
    Telling { urgent: notice.urgent, mark, unanswered, ..told }
}

pub(crate) fn told(Listed { vehicle: card, subject, reason }: &Listed) -> Telling {
    Telling {
        vehicle: VehicleCard {
            id: card.id,
            label: card.label.clone(),
            plate: card.plate.clone(),
            make_model: card.make_model.clone(),
            odometer_unit: card.odometer_unit,
            zone: card.zone,
        },
        urgent: false,
        mark: String::new(),
        told: match subject {
            Subject::Item(item) => Told::Item(item.clone()),
            Subject::Window(window) => Told::Window(window.clone()),
        },
        reason: reason.clone(),
        unanswered: None,
        links: ItemLinks::default(),
        calendar: None,
    }
}
