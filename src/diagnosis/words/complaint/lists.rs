//! What places and lights are complained of; longer ways stand before their beginnings.

pub(super) const NOTHING: [&str; 10] = [
    "nothing is wrong",
    "no problems",
    "no problem",
    "nothing is broken",
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

/// The same, of which something may bear the name.
pub(super) const LIGHTS_UNNAMED: [&str; 10] = [
    "all the bulbs",
    "all bulbs",
    "the light bulbs",
    "light bulbs",
    "the bulbs",
    "bulbs",
    "the lighting",
    "lighting",
    "the light",
    "light",
];

/// That somebody felt it, before what.
pub(super) const FELT: [&str; 12] = [
    "gave me", "gives me", "got", "get", "gets", "getting", "felt", "feel", "feels", "gives",
    "gave", "there is",
];

pub(super) const TINGLES: [&str; 13] = [
    "jolt",
    "belt",
    "electric shock",
    "small shock",
    "slight shock",
    "tingle",
    "tingles",
    "tingling",
    "shock",
    "shocks",
    "shocked",
    "zap",
    "zapped",
];

/// Where it was felt.
pub(super) const TINGLES_AT: [&str; 18] = [
    "when i touch",
    "when i touched",
    "when you touch",
    "when we touch",
    "when someone touches",
    "whenever i touch",
    "if i touch",
    "if you touch",
    "by touching",
    "through",
    "when touching",
    "touching",
    "from",
    "off",
    "by",
    "at",
    "on",
    "of",
];

/// What a load, or a place, does to whoever touches it.
pub(super) const SHOCKS: [&str; 11] = [
    "tickles", "tickled", "bites", "bit", "zaps", "zapped", "tingles", "tingled", "shocks",
    "shocked", "stings",
];

/// That it gives it to somebody.
pub(super) const GIVES: [&str; 4] = ["gives", "give", "gave", "giving"];

/// Who is touched by it.
pub(super) const WHOM: [&str; 6] = ["me", "us", "you", "people", "everyone", "somebody"];

/// How much of it there is.
pub(super) const SOME_SHOCK: [&str; 10] = [
    "a small",
    "a slight",
    "a mild",
    "a little",
    "an electric",
    "an electrical",
    "small",
    "electric",
    "electrical",
    "a",
];

/// What it gives.
pub(super) const SHOCK: [&str; 8] =
    ["electric shocks", "electric shock", "shocks", "shock", "tingles", "tingle", "zaps", "zap"];

/// What is said of a place, or of a breaker, that is warm.
pub(super) const WARM: [&str; 81] = [
    "makes crackling noises",
    "makes buzzing noises",
    "makes noises",
    "crackling noises",
    "buzzing noises",
    "exploded",
    "blew up",
    "sparked",
    "sparks come out",
    "made sparks",
    "makes sparks",
    "makes a buzzing noise",
    "makes a buzzing sound",
    "is making a buzzing noise",
    "making a buzzing noise",
    "makes a crackling noise",
    "making a crackling noise",
    "makes a noise",
    "hisses",
    "hissing",
    "black marks",
    "burn marks",
    "black",
    "smells of burnt plastic",
    "smells of burned plastic",
    "smells of burning plastic",
    "smells of plastic",
    "smells of smoke",
    "smells like burning plastic",
    "smells like burning",
    "smells like burnt plastic",
    "smells like smoke",
    "smells like fish",
    "smells fishy",
    "smells burned",
    "smells bad",
    "smells hot",
    "burned out",
    "burnt out",
    "overheats",
    "overheating",
    "too hot",
    "very hot",
    "very warm",
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
pub(super) const SIGNS: [&str; 53] = [
    "smells of burning",
    "smells like burning",
    "smells like smoke",
    "smells burnt",
    "smells burned",
    "smells",
    "smell of burnt plastic",
    "smell of burning plastic",
    "smell of melted plastic",
    "burning plastic smell",
    "burnt plastic smell",
    "plastic smell",
    "fishy smell",
    "burning odor",
    "burning odour",
    "spark",
    "popping noise",
    "popping sound",
    "popping",
    "hissing noise",
    "hissing",
    "black marks",
    "black spots",
    "brown marks",
    "brown spots",
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

pub(super) const NOTICED_AT: [&str; 16] = [
    "came out of",
    "come out of",
    "coming out of",
    "comes out of",
    "comes from",
    "come from",
    "around",
    "coming from",
    "on",
    "at",
    "in",
    "from",
    "near",
    "behind",
    "inside",
    "by",
];

pub(super) const DEAD: [&str; 13] = [
    "de-energized",
    "dead as a doornail",
    "lost voltage",
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
pub(super) const COMES_AND_GOES: [&str; 28] = [
    "comes and goes by itself",
    "come and go",
    "coming and going",
    "cuts in and out",
    "cutting in and out",
    "only sometimes",
    "only at times",
    "every now and then",
    "every so often",
    "once in a while",
    "on some days",
    "some days",
    "some of the time",
    "part of the time",
    "at intervals",
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

pub(super) const WHOLE_HOUSE: [&str; 17] = [
    "the entire house",
    "entire house",
    "the whole building",
    "house",
    "home",
    "the building",
    "the flat",
    "the apartment",
    "the whole flat",
    "the whole apartment",
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
pub(super) const TOUCHED: [&str; 8] = [
    "when touching it",
    "when you touch it",
    "if you touch it",
    "when touched",
    "when i touch it",
    "when you touch it",
    "when we touch it",
    "if i touch it",
];

/// What is said of a receptacle that holds no plug, or that has come off the wall.
pub(super) const LOOSE: [&str; 24] = [
    "fell off",
    "fallen off",
    "came off the wall",
    "hangs out of the wall",
    "hangs out",
    "hanging out",
    "cracked",
    "broken off",
    "stuck",
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
