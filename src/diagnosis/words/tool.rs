//! Which instrument is meant.

use crate::condition::words::lexer::TokenKind;
use crate::condition::words::lexicon::Class;
use crate::condition::words::speak;
use crate::diagnosis::Tool;
use crate::instrument::{Instrument, presets};

use super::example::measured;
use super::reader::{Heard, Reader};

/// What instruments are called besides their presets' names, each with its preset.
const CALLED: [(&str, &str); 61] = [
    ("two-pole tester", "two-pole"),
    ("2 - pole tester", "two-pole"),
    ("non-contact voltage tester", "non-contact"),
    ("ncvt", "non-contact"),
    ("amp clamp", "clamp"),
    ("continuity test", "continuity"),
    ("megohmmeter", "insulation-500"),
    ("plug in tester", "tester"),
    ("plug-in circuit tester", "tester"),
    ("circuit tester", "tester"),
    ("plug tester", "tester"),
    ("wiring tester", "tester"),
    ("polarity tester", "tester"),
    ("mains tester", "tester"),
    ("outlet checker", "tester"),
    ("socket checker", "tester"),
    ("three lamp tester", "tester"),
    ("three-lamp tester", "tester"),
    ("3 lamp tester", "tester"),
    ("three light tester", "tester"),
    ("three-light tester", "tester"),
    ("3 light tester", "tester"),
    ("3 - light tester", "tester"),
    ("insulation resistance test", "insulation-500"),
    ("insulation tester", "insulation-500"),
    ("insulation test", "insulation-500"),
    ("ir test", "insulation-500"),
    ("volt stick", "non-contact"),
    ("voltage stick", "non-contact"),
    ("voltage detector", "non-contact"),
    ("voltage tester pen", "non-contact"),
    ("plug-in tester", "tester"),
    ("socket tester", "tester"),
    ("outlet tester", "tester"),
    ("receptacle tester", "tester"),
    ("tester", "tester"),
    ("meter", "voltmeter"),
    ("multimeter", "voltmeter"),
    ("voltmeter", "voltmeter"),
    ("low-impedance meter", "voltmeter-low-impedance"),
    ("non-contact voltage detector", "non-contact"),
    ("non-contact detector", "non-contact"),
    ("non-contact tester", "non-contact"),
    ("ncv", "non-contact"),
    ("non-contact", "non-contact"),
    ("non contact voltage tester", "non-contact"),
    ("non contact tester", "non-contact"),
    ("non contact", "non-contact"),
    ("detector", "non-contact"),
    ("voltage pen", "non-contact"),
    ("pen", "non-contact"),
    ("clamp meter", "clamp"),
    ("clamp", "clamp"),
    ("loaded test", "loaded-test"),
    ("load test", "loaded-test"),
    ("loaded-test", "loaded-test"),
    ("loaded tester", "loaded-test"),
    ("loaded", "loaded-test"),
    ("continuity tester", "continuity"),
    ("own test button", "test-button"),
    ("test button", "test-button"),
];

/// The preset that is meant by a word of the trade, as `multimeter`.
///
/// ```
/// use slotwise::diagnosis::words::preset_called;
/// assert_eq!(preset_called("Multimeter"), Some("voltmeter"));
/// assert_eq!(preset_called("voltmeter"), Some("voltmeter"));
/// assert_eq!(preset_called("dowsing rod"), None);
/// ```
pub fn preset_called(name: &str) -> Option<&'static str> {
    let name = name.trim().to_lowercase();
    CALLED.iter().find(|(words, _)| *words == name).map(|(_, preset)| *preset)
}

/// Presets whose name stands for any instrument of their kind that is at hand.
const ANY_OF_KIND: [&str; 5] = ["tester", "voltmeter", "non-contact", "clamp", "loaded-test"];

impl Reader<'_> {
    /// The instrument that a sentence begins with; none if it begins with something else.
    pub(super) fn tool(&mut self, at_hand: &[Tool]) -> Option<Instrument> {
        self.takes("the");
        if let Some(token) = self.token(0)
            && token.kind == TokenKind::Quoted
        {
            let named = at_hand
                .iter()
                .find(|tool| tool.name == token.text || tool.instrument.name() == token.text)?;
            self.skip(1);
            return Some(named.instrument.clone());
        }
        // A load may be called as an instrument is.
        let is_load = self.clone().load().is_some();
        let mut called = CALLED.iter().filter(|_| !is_load);
        let called = called.find(|(words, _)| self.clone().takes(words));
        // The longer is meant: `non-contact tester`, where one is named `non-contact`.
        let length = |words: &str| words.split(' ').count();
        let is_as_long =
            |own: &&Tool| called.is_none_or(|(words, _)| length(words) <= length(&own.name));
        let own = at_hand.iter().find(|tool| self.clone().takes(&tool.name)).filter(is_as_long);
        if let Some(own) = own {
            self.takes(&own.name);
            return Some(own.instrument.clone());
        }
        if let Some((words, preset)) = called {
            self.takes(words);
            return meant(preset, at_hand);
        }
        let name = presets::names().find(|name| self.takes(name))?;
        presets::named(name)
    }

    /// Nothing that begins an observation comes next.
    pub(super) fn no_tool(&self, at_hand: &[Tool]) -> Heard<()> {
        self.refuse_no_access()?;
        let mut ahead = self.clone();
        if let Some(place) = ahead.name(&[Class::Place, Class::Device]) {
            let name = speak::name(&place);
            let message = "what is seen at a box is seen with an instrument, or is complained of";
            let forms = [format!("tester at {name}"), format!("{name} works, as a complaint")];
            return Err(self.here(message).expected(forms));
        }
        if let Some(measured) = measured(self) {
            return Err(measured);
        }
        let mut known: Vec<&str> = at_hand.iter().map(|tool| tool.name.as_str()).collect();
        known.extend(CALLED.iter().map(|(words, _)| *words));
        presets::names().for_each(|name| known.push(name));
        Err(self.none_of("an instrument, a load, a breaker or `opened`", &known).expected([
            "an instrument and where it was held, as `tester at`, `voltmeter at`, `non-contact at`",
            "a load and what it did, as `heater runs`",
            "a breaker and what it did, as `breaker c1 holds`",
            "`opened`, a box and what was found",
        ]))
    }
}

/// The preset, or the first instrument of its kind at hand where any of them may be meant.
fn meant(preset: &str, at_hand: &[Tool]) -> Option<Instrument> {
    let plain = presets::named(preset)?;
    let kind = plain.kind();
    let own = at_hand.iter().find(|tool| tool.instrument.kind() == kind);
    match own {
        Some(own) if ANY_OF_KIND.contains(&preset) => Some(own.instrument.clone()),
        _ => Some(plain),
    }
}

/// What an instrument is called so that it is heard as itself.
pub(super) fn tell(instrument: &Instrument, at_hand: &[Tool]) -> String {
    let own = at_hand.iter().find(|tool| tool.instrument == *instrument);
    let preset = || presets::names().find(|name| presets::named(name).as_ref() == Some(instrument));
    match (own, preset()) {
        (Some(own), _) if presets::names().any(|name| name == own.name) => own.name.clone(),
        (_, Some(preset)) if !ANY_OF_KIND.contains(&preset) => preset.to_owned(),
        (Some(own), _) => quoted(&own.name),
        (None, Some(preset)) => preset.to_owned(),
        (None, None) => quoted(instrument.name()),
    }
}

fn quoted(name: &str) -> String {
    let plain = name.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'));
    if plain { speak::name(name) } else { format!("\"{name}\"") }
}
