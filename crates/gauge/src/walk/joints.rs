//! Joints and bushes of steering and suspension: play, noise, torn boots.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

const HOUSE: &str = "house setting for joints and bushes, no source; the maker's limit of play comes first";
const UNDER_IT: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

const fn at(grade: Grade, title: &'static str, reason: &'static str, advice: &'static str) -> Answer {
    Answer::of(grade, title, reason).advising(advice, UNDER_IT).by_house(HOUSE)
}

answered! {
    /// What a shaken wheel, a ride over bumps and a look show.
    Joint, LampsAndPoints, "joints and bushes";

    /// Nothing.
    Sound = "sound", Answer::good("sound", "No play, no noise and no torn boot was found.").by_house(HOUSE);

    /// About to part.
    Loose = "loose", at(
        Grade::DoNotDrive,
        "loose, about to part",
        "A joint is loose enough to part; then the wheel can no longer be steered or held.",
        "Have the joint replaced where the vehicle stands, or have the vehicle fetched.",
    );

    /// Play.
    Play = "play", at(
        Grade::Attend,
        "play felt",
        "Play was felt in a joint, a bearing or a bush.",
        "Have the play measured against the maker's limit, and the alignment after the repair.",
    );

    /// Noise.
    Noise = "noise", at(
        Grade::Attend,
        "noise over bumps",
        "It knocks or creaks over bumps, as worn joints, bushes, links or dampers do.",
        "Have joints, bushes, links and dampers looked at with the wheels hanging and loaded.",
    );

    /// A torn boot.
    BootTorn = "boot_torn", at(
        Grade::Attend,
        "boot torn",
        "A boot is torn, so that grease gets out and dirt and water get in.",
        "Have the boot replaced before the joint is ruined, or the joint if it has play.",
    );

    /// A cracked bush.
    BushCracked = "bush_cracked", at(
        Grade::Watch,
        "bush cracked",
        "The rubber of a bush is cracked, but no play was felt.",
        "Look again at every check with the wheels up.",
    );
}
