//! What places and lights are complained of; longer ways stand before their beginnings.

pub(super) const NOTHING: [&str; 6] = [
    "nothing noticed",
    "nothing seen",
    "nothing wrong",
    "nothing to be seen",
    "no complaint",
    "nothing",
];

pub(super) const LIGHTS: [&str; 13] = [
    "all the lights",
    "all lights",
    "my lights",
    "the lights",
    "some of the lights",
    "some lights",
    "other lights",
    "lights",
    "lamps",
    "the lamps",
    "everything",
    "some",
    "others",
];

/// That somebody felt it, before what.
pub(super) const FELT: [&str; 10] =
    ["got", "get", "gets", "getting", "felt", "feel", "feels", "gives", "gave", "there is"];

pub(super) const TINGLES: [&str; 8] =
    ["tingle", "tingles", "tingling", "shock", "shocks", "shocked", "zap", "zapped"];

/// Where it was felt.
pub(super) const TINGLES_AT: [&str; 8] =
    ["when touching", "touching", "from", "off", "by", "at", "on", "of"];

/// What a load, or a place, does to whoever touches it.
pub(super) const GIVES_SHOCKS: [&str; 15] = [
    "bites me",
    "bites",
    "zaps me",
    "zaps",
    "zapped me",
    "tingles",
    "gives shocks",
    "gives a shock",
    "gives me a shock",
    "gives a tingle",
    "gave a shock",
    "gave me a shock",
    "shocks me",
    "shocks",
    "shocked me",
];

/// What is said of a place, or of a breaker, that is warm.
pub(super) const WARM: [&str; 37] = [
    "hot to the touch",
    "warm to the touch",
    "feels hot",
    "feels warm",
    "gets hot",
    "gets warm",
    "hot",
    "sparks",
    "sparking",
    "arcs",
    "warm plate",
    "warm",
    "smells of burning",
    "smells burnt",
    "smells",
    "smokes",
    "smoking",
    "scorched",
    "scorch marks",
    "melted",
    "melting",
    "burnt",
    "burned",
    "charred",
    "discoloured",
    "discolored",
    "browned",
    "brown",
    "blackened",
    "buzzes",
    "buzzing",
    "hums",
    "humming",
    "crackles",
    "crackling",
    "sizzles",
    "sizzling",
];

/// What comes from a joint that heats, before where it is noticed.
pub(super) const SIGNS: [&str; 28] = [
    "burning smell",
    "burnt smell",
    "smell of burning",
    "smell of smoke",
    "smell",
    "smoke",
    "sparks",
    "sparking",
    "arcing",
    "buzzing noise",
    "buzzing sound",
    "buzzing",
    "buzz",
    "humming",
    "sizzling noise",
    "sizzling sound",
    "sizzling",
    "crackling noise",
    "crackling sound",
    "crackling",
    "scorch marks",
    "scorch mark",
    "burn marks",
    "burn mark",
    "burning",
    "warm plate",
    "hot plate",
    "melted plate",
];

pub(super) const NOTICED_AT: [&str; 9] =
    ["coming from", "on", "at", "in", "from", "near", "behind", "inside", "by"];

pub(super) const NO_POWER: [&str; 11] = [
    "no power",
    "no voltage",
    "no electricity",
    "no juice",
    "lost all power",
    "lost power",
    "lost the power",
    "power is out",
    "power out",
    "the power is out",
    "the power went out",
];

pub(super) const DEAD: [&str; 10] = [
    "dead",
    "out",
    "dark",
    "without power",
    "no power",
    "no juice",
    "no electricity",
    "no voltage",
    "lost power",
    "lost all power",
];

/// Whatever is so is so only some of the time.
pub(super) const COMES_AND_GOES: [&str; 13] = [
    "now and then",
    "sometimes",
    "at times",
    "at random",
    "randomly",
    "intermittently",
    "intermittent",
    "occasionally",
    "from time to time",
    "on and off",
    "off and on",
    "cuts out",
    "comes and goes",
];

pub(super) const COMES_AND_GOES_AT: [&str; 4] = [
    "intermittent power at",
    "power comes and goes at",
    "power cuts out at",
    "sometimes no power at",
];

/// Before what feeds all that is dead, or works.
pub(super) const ALL_ON: [&str; 8] = [
    "everything on",
    "all of",
    "all on",
    "the whole of",
    "outlets on",
    "receptacles on",
    "sockets on",
    "whole",
];

/// Before where all is dead, or works.
pub(super) const ALL_IN: [&str; 8] = [
    "everything in",
    "everything at",
    "outlets in",
    "outlets at",
    "receptacles in",
    "receptacles at",
    "sockets in",
    "sockets at",
];

/// That it works.
pub(super) const WORKS: [&str; 16] = [
    "works fine",
    "work fine",
    "works",
    "work",
    "working",
    "fine",
    "ok",
    "okay",
    "good",
    "well",
    "all right",
    "alright",
    "alive",
    "has power",
    "have power",
    "not dead",
];

/// All of which nothing else is said.
pub(super) const THE_REST: [&str; 14] = [
    "everything else",
    "everywhere else",
    "all else",
    "the rest of the house",
    "rest of the house",
    "the rest of the circuit",
    "the rest of it",
    "the rest",
    "rest",
    "all the others",
    "all others",
    "the others",
    "everything",
    "all",
];

pub(super) const WHOLE_HOUSE: [&str; 7] = [
    "everything in the house",
    "the whole house",
    "whole house",
    "the house",
    "the whole place",
    "everything",
    "all",
];

pub(super) const EVERYWHERE: [&str; 4] =
    ["no power anywhere", "no power at all", "nothing works", "nothing at all works"];

pub(super) const HALF: [&str; 4] = ["one half of", "half of", "one half", "half"];

pub(super) const HOUSE: [&str; 10] = [
    "lights in the house",
    "outlets in the house",
    "house",
    "building",
    "home",
    "flat",
    "apartment",
    "shop",
    "place",
    "breakers",
];

/// After what a load does to whoever touches it.
pub(super) const TOUCHED: [&str; 5] =
    ["when touched", "when i touch it", "when you touch it", "when we touch it", "if i touch it"];

/// What is said of a receptacle that holds no plug, or that has come off the wall.
pub(super) const LOOSE: [&str; 15] = [
    "loose in the wall",
    "loose",
    "wobbly",
    "wobbles",
    "worn out",
    "worn",
    "falls out",
    "fall out",
    "falling out",
    "fell out",
    "comes out",
    "does not stay in",
    "will not stay in",
    "does not hold a plug",
    "will not hold a plug",
];
