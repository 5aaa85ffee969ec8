//! What a fleet has decided, and the limits that measurements are held to.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::number::Whole;
use crate::quantity::{AnyQuantity, Quantity};
use crate::text::Line;
use model::{Code, Grade, Jurisdiction, Ladder, Role};

answer! {
    /// A limit that the fleet has set in place of a shipped one.
    HouseLimit {
        /// The limit's key.
        limit: Code = "tread-watch",
        /// The number that holds here.
        value: Quantity = {"value": 4, "unit": "mm"},
        /// Why it is another than the shipped one.
        reason: String = "Hill depots, wet winters.",
    }
}

request! {
    /// A limit to be set in place of a shipped one: stricter always, laxer only where no law is concerned.
    NewHouseLimit {
        /// The limit's key, as `GET .../limits` lists it.
        limit: Code = "tread-watch",
        /// The number that is to hold here, of the same kind as the shipped one.
        value: AnyQuantity = {"value": 4, "unit": "mm"},
        /// Why it is to be another than the shipped one; every grade that rests on it says so.
        reason: Line<200> = "Hill depots, wet winters.",
    }
}

answer! {
    /// Whom the fleet wants to be told of one kind of reminder.
    Told {
        /// What it is about.
        of: Ladder,
        /// Which reminder.
        reminder: String = "approaching",
        /// Who is told; nobody if empty.
        to: Vec<Role> = ["manager", "technician"],
    }
}

request! {
    /// Whom the fleet wants to be told of one kind of reminder, in place of those whom it concerns otherwise.
    NewTold {
        /// What it is about.
        of: Ladder,
        /// Which reminder: `approaching`, `due`, `overdue`, `escalated`, `postponed`, `reading_wanted`; of a window
        /// `days_30` and the like, `act_by`, `ended`. Whom `do_not_drive` and `follow_up` are told cannot be changed.
        reminder: Line<40> = "approaching",
        /// Who is told; nobody if empty.
        to: Many<Role, 0, 4> = ["manager", "technician"],
    }
}

answer! {
    /// What the fleet has decided.
    Policy {
        /// Reminders of a coverage window: so many days before its early end.
        window_marks_days: Vec<u32> = [90, 60, 30, 7],
        /// The closing check is due so many days before the early end.
        closing_check_days: u32 = 30,
        /// The return check of a lease is due so many days before its end.
        return_check_days: u32 = 60,
        /// Days from acquisition until the baseline check is due.
        baseline_days: u32 = 14,
        /// A reading is asked for when the last is so many days old.
        reading_age_days: u32 = 21,
        /// Lead where a rule says none, days.
        lead_days: u32 = 14,
        /// What is still overdue so many days after it became so, and acknowledged by nobody since, is told to all
        /// managers; 0 for never.
        escalate_after_days: u32 = 7,
        /// What must not be driven is told to the next people when nobody has acknowledged it after so many minutes; 0 for
        /// never.
        next_people_minutes: u32 = 30,
        /// Whom the fleet wants to be told, where that is not those whom it concerns otherwise.
        told: Vec<Told>,
        /// Limits that hold here in place of the shipped ones.
        house_limits: Vec<HouseLimit>,
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::HouseLimit> for HouseLimit {
    fn from(house: model::HouseLimit) -> Self {
        Self { limit: house.limit, value: house.value.into(), reason: house.reason }
    }
}

impl From<model::Rung> for Told {
    fn from(rung: model::Rung) -> Self {
        Self { of: rung.of, reminder: rung.reminder, to: rung.to }
    }
}

impl From<NewTold> for model::Rung {
    fn from(told: NewTold) -> Self {
        Self { of: told.of, reminder: told.reminder.0, to: told.to.0 }
    }
}

impl Policy {
    /// The policy in this version.
    pub fn of(policy: model::Policy, version: i64) -> Self {
        Self {
            window_marks_days: policy.window_marks_days,
            closing_check_days: policy.closing_check_days,
            return_check_days: policy.return_check_days,
            baseline_days: policy.baseline_days,
            reading_age_days: policy.reading_age_days,
            lead_days: policy.lead_days,
            escalate_after_days: policy.escalate_after_days,
            next_people_minutes: policy.next_people_minutes,
            told: policy.told.into_iter().map(Told::from).collect(),
            house_limits: policy.house_limits.into_iter().map(HouseLimit::from).collect(),
            version,
        }
    }
}

/// A number of days that a policy may name.
type Days = Whole<0, 730>;

request! {
    /// A change of what the fleet has decided; what is left out stays, a list is replaced whole. All its vehicles are
    /// computed anew.
    PolicyChange {
        /// Reminders of a coverage window: so many days before its early end.
        window_marks_days: Change<Many<Days, 0, 12>> = [90, 60, 30, 7],
        /// The closing check is due so many days before the early end.
        closing_check_days: Change<Days> = 30,
        /// The return check of a lease is due so many days before its end.
        return_check_days: Change<Days> = 60,
        /// Days from acquisition until the baseline check is due.
        baseline_days: Change<Days> = 14,
        /// A reading is asked for when the last is so many days old.
        reading_age_days: Change<Days> = 21,
        /// Lead where a rule says none, days.
        lead_days: Change<Days> = 14,
        /// What is still overdue so many days after it became so, and acknowledged by nobody since, is told to all
        /// managers; 0 for never.
        escalate_after_days: Change<Days> = 7,
        /// What must not be driven is told to the next people when nobody has acknowledged it after so many minutes; 0 for
        /// never.
        next_people_minutes: Change<Whole<0, 1440>> = 30,
        /// Whom the fleet wants to be told, where that is not those whom it concerns otherwise.
        told: Change<Many<NewTold, 0, 60>>,
        /// Limits that are to hold here in place of the shipped ones.
        house_limits: Change<Many<NewHouseLimit, 0, 200>>,
    }
}

impl PolicyChange {
    /// The policy with this change made.
    pub fn applied_to(self, before: model::Policy) -> model::Policy {
        let days = |change: Change<Days>, before| change.wanted().map_or(before, Whole::unsigned);
        let set = |house: NewHouseLimit| model::HouseLimit {
            limit: house.limit,
            value: house.value.0,
            reason: house.reason.0,
        };
        let marks = |marks: Many<Days, 0, 12>| marks.0.into_iter().map(Whole::unsigned).collect();
        model::Policy {
            window_marks_days: self.window_marks_days.wanted().map_or(before.window_marks_days, marks),
            closing_check_days: days(self.closing_check_days, before.closing_check_days),
            return_check_days: days(self.return_check_days, before.return_check_days),
            baseline_days: days(self.baseline_days, before.baseline_days),
            reading_age_days: days(self.reading_age_days, before.reading_age_days),
            lead_days: days(self.lead_days, before.lead_days),
            escalate_after_days: days(self.escalate_after_days, before.escalate_after_days),
            next_people_minutes: self
                .next_people_minutes
                .wanted()
                .map_or(before.next_people_minutes, Whole::unsigned),
            told: self
                .told
                .wanted()
                .map_or(before.told, |told| told.0.into_iter().map(model::Rung::from).collect()),
            house_limits: self
                .house_limits
                .wanted()
                .map_or(before.house_limits, |limits| limits.0.into_iter().map(set).collect()),
        }
    }
}

answer! {
    /// One number that measurements are held to.
    Limit {
        /// Its key, by which a fleet sets its own number in its place.
        key: String = "tread-watch",
        /// The discipline it belongs to.
        discipline: String = "tread",
        /// What is held to it.
        name: String = "depth",
        /// Whose law it is; null for a setting, which holds everywhere.
        law_of: Option<Jurisdiction> = null,
        /// For vehicles of which gross mass.
        gross_mass: String = "any",
        /// For which wheels.
        wheels: String = "any",
        /// When it is met.
        met: String = "below 3.2 mm",
        /// Its number; null where it is met by something missing.
        value: Option<Quantity> = {"value": 3.2, "unit": "mm"},
        /// The grade it leads to; null where it leads to advice only.
        grade: Option<Grade> = "watch",
        /// Who says so.
        source: String = "house setting for tread, no source",
        /// In which edition, and how it was read.
        edition: String = "first edition",
        /// How well that source is known.
        standing: String = "common practice",
        /// What the fleet has set in its place.
        own: Option<HouseLimit> = null,
    }
}
