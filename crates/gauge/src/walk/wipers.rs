//! Wipers and washer: whether the driver sees through the windscreen.

use crate::answer::{Answer, answered};
use model::Grade;

const HOUSE: &str = "house setting for wipers, no source";

const fn at(grade: Grade, title: &'static str, reason: &'static str, advice: &'static str) -> Answer {
    Answer::of(grade, title, reason).advising(advice, &[]).by_house(HOUSE)
}

answered! {
    /// How the windscreen is kept clear.
    Wipers, LampsAndPoints, "wipers and washer";

    /// It is.
    Clear = "clear", Answer::good("wipe clear", "Wipers and washer keep the windscreen clear.").by_house(HOUSE);

    /// They do not move.
    Dead = "dead", at(
        Grade::Attend,
        "do not move",
        "The wipers do not move, so the driver would see nothing in rain or spray.",
        "Keep the vehicle in where rain, snow or spray is to be expected, and have the wipers mended.",
    );

    /// A blade is torn.
    Torn = "torn", at(
        Grade::Attend,
        "a blade torn or loose",
        "A blade is torn or loose; it will scratch the glass and leave the driver blind in rain.",
        "Replace the blades, both at once.",
    );

    /// No washer.
    NoWasher = "no_washer", at(
        Grade::Attend,
        "washer gives nothing",
        "The washer gives nothing: it is empty, frozen or blocked.",
        "Fill it with washer fluid that stands the cold to be expected, and clear the jets.",
    );

    /// Streaks.
    Streaks = "streaks", at(
        Grade::Watch,
        "leave streaks",
        "The blades leave streaks.",
        "Clean glass and blades; replace the blades if it stays.",
    );
}
