//! The words of the grammar: one table, and the units.

use crate::circuit::{CableEnd, JointKind, Side};

/// What a word of the grammar does in a sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Word {
    /// Harmless: no meaning of its own.
    Small,
    /// A conductor, in the circuit's own name for it; `true` if said in the plural.
    Conductor(&'static str, bool),
    /// Hot and neutral, as in `polarity reversed`.
    Polarity,
    /// Remote earth.
    Soil,
    /// The metal case of a load.
    Frame,
    /// The kind of thing that a name is of.
    Class(Class),
    /// What is so.
    Verb(Verb),
    /// A side of a box.
    Side(Side),
    /// The word `side`, which makes a side of the word before it.
    AsSide,
    /// What kind of joint.
    Joint(JointWord),
    /// Half of a duplex.
    Half(Half),
    /// An end of a cable.
    End(CableEnd),
    /// The word `end`.
    AsEnd,
    /// Halfway along a cable.
    Halfway,
    /// A preposition.
    Preposition(Preposition),
    /// Parts two things.
    And,
    /// Every load.
    All,
    /// What an open joint has between its halves.
    Gap,
    /// Gives a name of its own to a bridge or an attached part.
    Called,
    /// Denies the next word: `not connected`.
    Not,
    /// A position of a three-way switch is to follow.
    Position,
    /// Solid: no resistance to speak of.
    Solid,
    /// In-phase part of a voltage.
    InPhase,
    /// Quadrature part of a voltage.
    Quadrature,
}

/// Kinds of named things.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Class {
    Place,
    Device,
    Circuit,
    Breaker,
    Cable,
    Load,
    Switch,
    Service,
    Leg,
    Winding,
    Supply,
    Electrode,
    Bond,
    Joint,
}

/// What is so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verb {
    Open,
    Exchanged,
    Crossed,
    Bridged,
    Glowing,
    Bootleg,
    Moisture,
    Breakdown,
    Nicked,
    Borrowed,
    Landed,
    Attached,
    LeftIn,
    On,
    Off,
    Tripped,
    Reset,
    Closed,
    Up,
    Down,
    One,
    Two,
    Straight,
    Unplugged,
    PluggedIn,
    Stalled,
}

/// Kinds of joint as they are spoken of; each stands for one or more [`JointKind`]s.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum JointWord {
    Splice,
    Screw,
    PushIn,
    Terminal,
    Pigtail,
    Strap,
    Tab,
    Slot,
    Plug,
    Pin,
    Breaker,
    Bar,
    Bond,
    Electrode,
    Service,
    Contact,
}

impl JointWord {
    /// Whether a joint of `kind` is meant.
    pub(crate) fn means(self, kind: JointKind) -> bool {
        match self {
            Self::Splice => kind == JointKind::Splice,
            Self::Screw => kind == JointKind::Screw,
            Self::PushIn => kind == JointKind::PushIn,
            Self::Terminal => matches!(kind, JointKind::Screw | JointKind::PushIn),
            Self::Pigtail => kind == JointKind::Pigtail,
            Self::Strap => matches!(kind, JointKind::Strap | JointKind::Tab),
            Self::Tab => kind == JointKind::Tab,
            Self::Slot | Self::Plug | Self::Pin => kind == JointKind::SlotContact,
            Self::Breaker => kind == JointKind::Breaker,
            Self::Bar => kind == JointKind::Bar,
            Self::Bond => kind == JointKind::Bond,
            Self::Electrode => kind == JointKind::ElectrodeClamp,
            Self::Service => kind == JointKind::Service,
            Self::Contact => matches!(kind, JointKind::SwitchContact | JointKind::SlotContact),
        }
    }

    /// The word that says this kind of joint.
    pub(crate) fn of(kind: JointKind) -> &'static str {
        match kind {
            JointKind::Splice => "splice",
            JointKind::Screw => "screw",
            JointKind::PushIn => "push-in",
            JointKind::Pigtail => "pigtail",
            JointKind::Strap => "strap",
            JointKind::Tab => "tab",
            JointKind::SlotContact => "slot",
            JointKind::Breaker => "breaker",
            JointKind::Bar => "bar",
            JointKind::Bond => "bond",
            JointKind::ElectrodeClamp => "clamp",
            JointKind::Service => "service",
            JointKind::SwitchContact => "contact",
        }
    }
}

/// Halves of a duplex.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Half {
    Top,
    Bottom,
}

impl Half {
    /// The word, which is also the part of the address.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// Prepositions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Preposition {
    At,
    Of,
    On,
    To,
    From,
    Between,
    Through,
    Across,
}

/// Every word and what it does. Words that take two (`line side`, `left in`) are put
/// together where phrases are read.
#[rustfmt::skip]
pub(crate) const WORDS: &[(&str, Word)] = {
    use Preposition as P;
    use Word::{Class as C, Conductor, Joint as J, Preposition as Pre, Small, Verb as V};
    &[
        ("the", Small), ("a", Small), ("an", Small), ("is", Small), ("are", Small),
        ("its", Small), ("it", Small), ("was", Small), ("were", Small), ("has", Small),
        ("been", Small), ("out", Small), ("turned", Small), ("turn", Small), ("wire", Small), ("resistance", Small),
        ("high", Small), ("voltage", Small), ("drop", Small),
        ("conductor", Small), ("main", Small), ("way", Small), ("along", Small), ("be", Small),
        ("hot", Conductor("hot", false)), ("hots", Conductor("hot", true)),
        ("line", Conductor("hot", false)), ("lines", Conductor("hot", true)),
        ("live", Conductor("hot", false)), ("lives", Conductor("hot", true)),
        ("phase", Conductor("hot", false)), ("h", Conductor("hot", false)),
        ("l", Conductor("hot", false)),
        ("hot2", Conductor("hot2", false)), ("line2", Conductor("hot2", false)),
        ("live2", Conductor("hot2", false)), ("phase2", Conductor("hot2", false)),
        ("h2", Conductor("hot2", false)),
        ("hot3", Conductor("hot3", false)), ("line3", Conductor("hot3", false)),
        ("live3", Conductor("hot3", false)), ("phase3", Conductor("hot3", false)),
        ("h3", Conductor("hot3", false)),
        ("neutral", Conductor("neutral", false)), ("neutrals", Conductor("neutral", true)),
        ("n", Conductor("neutral", false)),
        ("ground", Conductor("ground", false)), ("grounds", Conductor("ground", true)),
        ("earth", Conductor("ground", false)), ("earths", Conductor("ground", true)),
        ("pe", Conductor("ground", false)), ("protective", Conductor("ground", false)),
        ("cpc", Conductor("ground", false)), ("g", Conductor("ground", false)),
        ("e", Conductor("ground", false)),
        ("traveller1", Conductor("traveller1", false)),
        ("traveler1", Conductor("traveller1", false)),
        ("traveller2", Conductor("traveller2", false)),
        ("traveler2", Conductor("traveller2", false)),
        ("switched", Conductor("switched", false)),
        ("polarity", Word::Polarity),
        ("soil", Word::Soil),
        ("frame", Word::Frame), ("case", Word::Frame), ("chassis", Word::Frame),
        ("box", C(Class::Place)), ("place", C(Class::Place)),
        ("device", C(Class::Device)), ("receptacle", C(Class::Device)),
        ("outlet", C(Class::Device)), ("socket", C(Class::Device)),
        ("socket-outlet", C(Class::Device)), ("duplex", C(Class::Device)),
        ("circuit", C(Class::Circuit)), ("breaker", C(Class::Breaker)),
        ("cable", C(Class::Cable)), ("run", C(Class::Cable)),
        ("load", C(Class::Load)), ("loads", C(Class::Load)), ("appliance", C(Class::Load)),
        ("switch", C(Class::Switch)), ("service", C(Class::Service)),
        ("leg", C(Class::Leg)), ("legs", C(Class::Leg)), ("bus", C(Class::Leg)),
        ("winding", C(Class::Winding)), ("supply", C(Class::Supply)),
        ("mains", C(Class::Supply)),
        ("electrode", C(Class::Electrode)), ("rod", C(Class::Electrode)),
        ("bond", C(Class::Bond)), ("bonding", C(Class::Bond)), ("jumper", Small),
        ("pole", Small), ("joint", C(Class::Joint)), ("connection", C(Class::Joint)),
        ("open", V(Verb::Open)), ("opened", V(Verb::Open)), ("lost", V(Verb::Open)),
        ("missing", V(Verb::Open)), ("removed", V(Verb::Open)), ("broken", V(Verb::Open)), ("cut", V(Verb::Open)),
        ("disconnected", V(Verb::Open)), ("interrupted", V(Verb::Open)),
        ("exchanged", V(Verb::Exchanged)), ("swapped", V(Verb::Exchanged)),
        ("reversed", V(Verb::Exchanged)), ("transposed", V(Verb::Exchanged)),
        ("crossed", V(Verb::Crossed)),
        ("bridged", V(Verb::Bridged)), ("shorted", V(Verb::Bridged)), ("short", V(Verb::Bridged)),
        ("leaking", V(Verb::Bridged)), ("leaks", V(Verb::Bridged)),
        ("tied", V(Verb::Bridged)), ("touching", V(Verb::Bridged)),
        ("touches", V(Verb::Bridged)), ("touch", V(Verb::Bridged)),
        ("joined", V(Verb::Bridged)), ("connected", V(Verb::Bridged)),
        ("bridge", V(Verb::Bridged)), ("jumpered", V(Verb::Bridged)), ("together", Small), ("contact", J(JointWord::Contact)),
        ("glowing", V(Verb::Glowing)), ("glows", V(Verb::Glowing)),
        ("bootleg", V(Verb::Bootleg)),
        ("moisture", V(Verb::Moisture)), ("moist", V(Verb::Moisture)),
        ("wet", V(Verb::Moisture)), ("damp", V(Verb::Moisture)), ("water", V(Verb::Moisture)),
        ("insulation", Small), ("breakdown", V(Verb::Breakdown)),
        ("nicked", V(Verb::Nicked)), ("nick", V(Verb::Nicked)),
        ("borrowed", V(Verb::Borrowed)), ("borrows", V(Verb::Borrowed)),
        ("landed", V(Verb::Landed)), ("lands", V(Verb::Landed)),
        ("attached", V(Verb::Attached)),
        ("on", V(Verb::On)), ("running", V(Verb::On)),
        ("off", V(Verb::Off)), ("tripped", V(Verb::Tripped)), ("trip", V(Verb::Tripped)), ("reset", V(Verb::Reset)),
        ("closed", V(Verb::Closed)), ("up", V(Verb::Up)), ("down", V(Verb::Down)),
        ("one", V(Verb::One)), ("two", V(Verb::Two)), ("straight", V(Verb::Straight)),
        ("unplugged", V(Verb::Unplugged)), ("unplug", V(Verb::Unplugged)), ("plugged", V(Verb::PluggedIn)),
        ("stalled", V(Verb::Stalled)), ("left", V(Verb::LeftIn)), ("intact", V(Verb::LeftIn)),
        ("upstream", Word::Side(Side::Line)), ("line-side", Word::Side(Side::Line)),
        ("supply-side", Word::Side(Side::Line)),
        ("downstream", Word::Side(Side::Load)), ("load-side", Word::Side(Side::Load)),
        ("side", Word::AsSide), ("sides", Word::AsSide),
        ("splice", J(JointWord::Splice)), ("connector", J(JointWord::Splice)),
        ("screw", J(JointWord::Screw)), ("push-in", J(JointWord::PushIn)), ("terminal", J(JointWord::Terminal)),
        ("pigtail", J(JointWord::Pigtail)), ("strap", J(JointWord::Strap)), ("tab", J(JointWord::Tab)),
        ("slot", J(JointWord::Slot)), ("plug", J(JointWord::Plug)), ("blade", J(JointWord::Pin)),
        ("pin", J(JointWord::Pin)), ("bar", J(JointWord::Bar)), ("stab", J(JointWord::Breaker)),
        ("clamp", J(JointWord::Electrode)),
        ("top", Word::Half(Half::Top)), ("bottom", Word::Half(Half::Bottom)),
        ("near", Word::End(CableEnd::A)), ("far", Word::End(CableEnd::B)),
        ("end", Word::AsEnd),
        ("halfway", Word::Halfway), ("midway", Word::Halfway),
        ("at", Pre(P::At)), ("in", Pre(P::At)), ("inside", Pre(P::At)), ("of", Pre(P::Of)),
        ("to", Pre(P::To)), ("towards", Pre(P::To)), ("toward", Pre(P::To)),
        ("with", Pre(P::To)), ("from", Pre(P::From)), ("between", Pre(P::Between)),
        ("through", Pre(P::Through)), ("via", Pre(P::Through)), ("across", Pre(P::Across)),
        ("onto", Pre(P::On)),
        ("and", Word::And), ("all", Word::All), ("everything", Word::All),
        ("gap", Word::Gap), ("called", Word::Called), ("named", Word::Called),
        ("not", Word::Not), ("position", Word::Position), ("solid", Word::Solid),
        ("solidly", Word::Solid), ("in-phase", Word::InPhase),
        ("quadrature", Word::Quadrature),
    ]
};

/// What `written` does, case aside.
pub(crate) fn word(written: &str) -> Option<Word> {
    WORDS.iter().find(|(text, _)| text.eq_ignore_ascii_case(written)).map(|(_, word)| *word)
}

/// The circuit's usual name of a conductor that may be written in any of its ways.
pub(crate) fn conductor(written: &str) -> Option<&'static str> {
    match word(written) {
        Some(Word::Conductor(name, _)) => Some(name),
        _ => None,
    }
}

/// What an amount is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    Ohm,
    Farad,
    Volt,
    Percent,
}

/// Quantity and power of ten of a unit. `M` and `m` differ; nothing else minds its case.
pub(crate) fn unit(written: &str) -> Option<(Quantity, i32)> {
    let mega = written.starts_with('M');
    let unit = match written.to_lowercase().as_str() {
        "ohm" | "ohms" | "ω" => (Quantity::Ohm, 0),
        "kohm" | "kohms" | "kω" | "k" | "kilohm" | "kilohms" => (Quantity::Ohm, 3),
        "mohm" | "mohms" | "mω" => (Quantity::Ohm, if mega { 6 } else { -3 }),
        "megohm" | "megohms" | "megaohm" | "megaohms" => (Quantity::Ohm, 6),
        "milliohm" | "milliohms" => (Quantity::Ohm, -3),
        "uohm" | "µohm" | "μohm" | "µω" | "μω" => (Quantity::Ohm, -6),
        "gohm" | "gω" => (Quantity::Ohm, 9),
        "f" | "farad" => (Quantity::Farad, 0),
        "uf" | "µf" | "μf" => (Quantity::Farad, -6),
        "nf" => (Quantity::Farad, -9),
        "pf" => (Quantity::Farad, -12),
        "v" | "volt" | "volts" => (Quantity::Volt, 0),
        "kv" => (Quantity::Volt, 3),
        "%" | "percent" => (Quantity::Percent, -2),
        _ => return None,
    };
    Some(unit)
}

/// Words that are no words of the grammar on purpose, with the reason.
pub(crate) fn outside(written: &str) -> Option<&'static str> {
    Some(match written.to_lowercase().as_str() {
        "loose" | "bad" | "poor" | "corroded" | "burnt" | "worn" | "resistive" => {
            "say how bad it is: a resistance (`0.4 ohm`), `glowing` or `open`"
        }
        "black" | "white" | "red" | "blue" | "green" | "brown" | "yellow" | "grey" | "bare" => {
            "a colour does not say what a wire is: say hot, neutral or ground"
        }
        "dead" | "dim" | "bright" | "lit" | "dark" | "flickers" | "flickering" => {
            "that is what is seen, not what is wrong: a condition says what is so in the wiring"
        }
        "works" | "fine" | "good" | "ok" | "healthy" | "repaired" | "fixed" => {
            "a condition says only what differs from the circuit as described: leave it out"
        }
        "no" | "without" => {
            "say which joint is open, as `ground open at kiln, line side`, or `not connected`"
        }
        "maybe" | "perhaps" | "or" | "sometimes" => {
            "a condition is one definite state: try one possibility at a time"
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_in_the_documentation() {
        let page = include_str!("../../../docs/condition-words.md");
        let said: std::collections::BTreeSet<&str> =
            page.split('`').flat_map(|code| code.split(|c: char| c.is_whitespace())).collect();
        let missing: Vec<&str> =
            WORDS.iter().map(|(word, _)| *word).filter(|word| !said.contains(word)).collect();
        assert!(missing.is_empty(), "{missing:?}");
    }

    #[test]
    fn no_word_stands_twice() {
        let mut words: Vec<&str> = WORDS.iter().map(|(word, _)| *word).collect();
        words.sort_unstable();
        let count = words.len();
        words.dedup();
        assert_eq!(words.len(), count);
    }
}
