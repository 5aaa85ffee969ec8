//! What is decided for the whole fleet: who is told what, and where vehicles are mended.

use super::Answer;
use crate::dice::Dice;
use crate::fleet::Fleet;
use clerk::organisation::{self, NewWorkshop, WorkshopChange};
use clerk::{Act, ActError};
use model::{Ladder, Policy, Role, Rung, WorkshopId, WorkshopKind};
use uuid::Uuid;

/// Something decided for the fleet.
#[derive(Debug, Clone)]
pub enum House {
    /// Another policy.
    Decree { version: i64, policy: Box<Policy> },
    /// A workshop is found.
    FindWorkshop { name: String, lead_days: u32 },
    /// It takes longer, or not so long, until it has time.
    ChangeWorkshop { workshop: WorkshopId, version: i64, lead_days: u32 },
}

impl House {
    /// What it is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Decree { .. } => "decree",
            Self::FindWorkshop { .. } => "find workshop",
            Self::ChangeWorkshop { .. } => "change workshop",
        }
    }

    pub(super) async fn perform(self, act: &mut Act) -> Result<Answer, ActError> {
        match self {
            Self::Decree { version, policy } => {
                clerk::fleets::change_policy(act, version, &policy).await.map(|()| Answer::default())
            }
            Self::FindWorkshop { name, lead_days } => {
                let kind = WorkshopKind::Independent;
                let new =
                    NewWorkshop { name, kind, lead_days, warranty_work: Some(true), working_weekdays: None };
                let made = organisation::create_workshop(act, new).await?;
                Ok(Answer { id: Some(made.id.0), ..Answer::default() })
            }
            Self::ChangeWorkshop { workshop, version, lead_days } => {
                let change = WorkshopChange { lead_days: Some(lead_days), ..WorkshopChange::default() };
                organisation::change_workshop(act, workshop, version, change).await.map(|_| Answer::default())
            }
        }
    }

    pub(super) fn learn(&self, fleet: &mut Fleet, made: Uuid) {
        match self {
            Self::Decree { version, .. } => fleet.policy = version + 1,
            Self::FindWorkshop { .. } => fleet.workshops.push((WorkshopId(made), 1)),
            Self::ChangeWorkshop { workshop, version, .. } => {
                fleet
                    .workshops
                    .iter_mut()
                    .filter(|(id, _)| id == workshop)
                    .for_each(|(_, of)| *of = version + 1);
            }
        }
    }

    /// Somebody who has seen an old version looks again.
    pub fn look_again(&self, fleet: &mut Fleet) {
        match self {
            Self::Decree { .. } => fleet.policy += 1,
            Self::FindWorkshop { .. } => {}
            Self::ChangeWorkshop { workshop, .. } => {
                fleet.workshops.iter_mut().filter(|(id, _)| id == workshop).for_each(|(_, of)| *of += 1);
            }
        }
    }
}

/// Something to decide.
pub(super) fn any(dice: &Dice, fleet: &mut Fleet, wanted: &str) -> Option<House> {
    let lead_days = u32::try_from(dice.below(20)).unwrap_or(0);
    match wanted {
        "decree" => Some(House::Decree { version: fleet.policy, policy: Box::new(policy(dice)) }),
        "find workshop" if fleet.workshops.len() < 3 => {
            Some(House::FindWorkshop { name: fleet.next_name("workshop"), lead_days })
        }
        "change workshop" if !fleet.workshops.is_empty() => {
            let (workshop, version) = *dice.pick(&fleet.workshops);
            Some(House::ChangeWorkshop { workshop, version, lead_days })
        }
        _ => None,
    }
}

fn policy(dice: &Dice) -> Policy {
    let number = |choice: &[u32]| *dice.pick(choice);
    let told = if dice.percent(50) { vec![rung(dice)] } else { Vec::new() };
    Policy {
        escalate_after_days: number(&[0, 2, 7]),
        next_people_minutes: number(&[10, 30, 120]),
        lead_days: number(&[3, 14, 30]),
        reading_age_days: number(&[7, 21, 60]),
        closing_check_days: number(&[14, 30]),
        told,
        ..Policy::default()
    }
}

fn rung(dice: &Dice) -> Rung {
    let to = match dice.below(3) {
        0 => Vec::new(),
        1 => vec![Role::Manager],
        _ => vec![Role::Manager, Role::Technician],
    };
    let (of, reminder) = *dice.pick(&[
        (Ladder::Duties, "approaching"),
        (Ladder::Duties, "due"),
        (Ladder::Duties, "overdue"),
        (Ladder::Papers, "due"),
        (Ladder::Windows, "days_30"),
    ]);
    Rung { of, reminder: reminder.to_owned(), to }
}
