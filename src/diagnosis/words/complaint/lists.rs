//! What places and lights are complained of; longer ways stand before their beginnings.

pub(super) const NOTHING: [&str; 6] = [
    "nothing noticed",
    "nothing seen",
    "nothing wrong",
    "nothing to be seen",
    "no complaint",
    "nothing",
];

pub(super) const LIGHTS: [&str; 10] = [
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

pub(super) const TINGLES: [&str; 8] = [
    "a tingle from",
    "a shock from",
    "tingle from",
    "tingles from",
    "tingling from",
    "shock from",
    "shocks from",
    "tingle at",
];

/// What is said of a place, or of a breaker, that is warm.
pub(super) const WARM: [&str; 29] = [
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
    "buzzes",
    "hums",
    "crackles",
];

pub(super) const WARM_AT: [&str; 19] = [
    "a burning smell at",
    "burning smell at",
    "a smell of burning at",
    "smell of burning at",
    "smell of smoke at",
    "smell at",
    "smoke at",
    "sparks at",
    "sparking at",
    "arcing at",
    "buzzing at",
    "crackling at",
    "scorch marks at",
    "scorch mark at",
    "burn marks at",
    "burn mark at",
    "warm plate at",
    "hot plate at",
    "melted plate at",
];

pub(super) const NO_POWER_AT: [&str; 3] = ["no power at", "no power in", "no voltage at"];

pub(super) const DEAD: [&str; 8] = [
    "dead",
    "out",
    "without power",
    "no power",
    "has no power",
    "do not work",
    "does not work",
    "not working",
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

/// That it works.
pub(super) const WORKS: [&str; 14] = [
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
