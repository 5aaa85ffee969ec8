//! Joints and bushes of steering and suspension: play, noise, torn boots.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::{Grade, Jurisdiction};
use quantity::{Depth, Entered, Unit};

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

const PLAY: Limit = Limit {
    key: "",
    discipline: Discipline::LampsAndPoints,
    name: "",
    jurisdiction: Some(Jurisdiction::Us),
    class: Class::HEAVY,
    wheels: Wheels::Front,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Missing,
    source: "49 CFR 570.60, table 3",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
};

const fn in32(value: f64) -> Bound {
    Bound::Above(Entered::new(value, Unit::ThirtySecondInch))
}

static PLAY_TO_16: Limit = Limit {
    key: "joints-play-to-16",
    name: "free play of the steering linkage, rim to 16 in",
    bound: in32(8.0),
    ..PLAY
};
static PLAY_TO_18: Limit = Limit {
    key: "joints-play-to-18",
    name: "free play of the steering linkage, rim over 16 to 18 in",
    bound: in32(12.0),
    ..PLAY
};
static PLAY_OVER_18: Limit = Limit {
    key: "joints-play-over-18",
    name: "free play of the steering linkage, rim over 18 in",
    bound: in32(16.0),
    ..PLAY
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&PLAY_TO_16, &PLAY_TO_18, &PLAY_OVER_18].into_iter()
}

/// The most free play that the linkage of a steered wheel may have, of a vehicle over 10 000 lb, by the bead diameter of
/// its rim: 1/4 in to 16 in, 3/8 in to 18 in, 1/2 in above (49 CFR 570.60, table 3, read first-hand).
pub fn linkage_play_limit(bead: Depth) -> &'static Limit {
    const INCH: i64 = 25_400_000;
    match bead.nm() {
        nm if nm <= 16 * INCH => &PLAY_TO_16,
        nm if nm <= 18 * INCH => &PLAY_TO_18,
        _ => &PLAY_OVER_18,
    }
}
