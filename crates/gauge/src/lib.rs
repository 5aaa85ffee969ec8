//! From measurements to grades: what a value means, by which limit, on whose word, and what to do about it.
//!
//! [`grade_all`] reads the newest measurements of one vehicle and answers with a grade, a margin, a reason, a source and
//! a caution for each check point and place. Every number it holds a measurement to is a [`Limit`] in the table of its
//! discipline, with source and standing; [`limits`] lists them all, and [`answers`] what each word means. One file or
//! folder a discipline. Comparisons are made on exact integers (nm, mPa, mK), so that no unit of entry changes a grade.
//!
//! Pure: no clock, no chance, no IO.

mod answer;
mod assessment;
mod axle;
mod background;
mod brake_care;
pub mod brake_fluid;
mod caution;
pub mod coolant;
mod depths;
pub mod engine_oil;
pub mod filters;
mod grading;
mod ladder;
mod limit;
mod lining;
mod measured;
mod pads;
mod points;
mod pressure;
mod rotation;
mod rotors;
mod series;
mod shoes;
mod shown;
pub mod starter_battery;
pub mod top_up;
pub mod traction_battery;
mod tread;
pub mod urea;
mod verdict;
mod walk;
mod wear;
mod yardstick;

pub use answer::{Answer, answers};
pub use axle::Axle;
pub use background::Background;
pub use brake_care::{BrakeCare, brake_care};
pub use depths::{DepthSet, depth_sets};
pub use grading::{Part, Subject, grade_all};
pub use ladder::DepthLimits;
pub use limit::{Bound, Class, Discipline, Limit, Standing, Wheels, limits};
pub use lining::{BrakeKind, commercial_lining_floor};
pub use pads::pad_limits;
pub use points::{CheckPoint, PointError, point, points};
pub use pressure::{
    Air, LeakRate, LeakReading, SetPointError, Warmth, ambient_at, gauge_at, leak_rate, monitor_threshold,
    pressure_grade, set_point, temperature_showing,
};
pub use rotation::{
    Driveline, DrivenWheels, Fitment, Moves, RotationAdvice, RotationBar, Running, SideToSide, Sizes,
    TyreTread, driveline, rotation_advice,
};
pub use rotors::{drum_grade, rotor_grade};
pub use series::{Noted, series};
pub use shoes::{over_rivets_floor, shoe_limits};
pub use tread::{
    AgeMark, Around, DateCode, DateCodeError, LEAST_PLACES_AROUND, TreadPromise, TyreDamage, TyreKind,
    age_marks, around, dual_mismatch, mean_depth, noted_date_code, promised_distance, tread_limits,
    tread_wear_credit, treadwear_against_control, usable_fraction, usable_fraction_of_set, wet_grip_caution,
    winter_tread_limits,
};
pub use verdict::Verdict;
pub use walk::{Joint, Leak, Lights, ParkingBrake, WarningLamp, WheelFasteners, Wipers, linkage_play_limit};
pub use wear::{MadeAs, WearLimit, WearPoint, wear_point_of, wear_points};
pub use yardstick::{HouseLimitError, Yardstick, check_house_limit};
