//! What an instrument showed: `hot-neutral dark, hot-ground lit`, `118 V`, `hot beeps`.

use std::ops::Range;

use crate::circuit::Vocabulary;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::TokenKind;
use crate::condition::words::problem::Problem;
use crate::condition::words::speak;
use crate::diagnosis::{Amount, Showed};
use crate::instrument::{
    Brightness, Glow, Instrument, LoadedTest, Ohmmeter, PlugTester, StepTester,
};

use super::amount::{self, Unit};
use super::example::supply_volt;
use super::moment::BEGINS;
use super::reader::{Heard, Reader};
use super::reading::DEAD;

/// Words that say of an indicator how bright it was; longer ones stand before their beginnings.
pub(super) const GLOWS: [(&str, Glow); 38] = {
    use Brightness::{Dark, Dim, Lit};
    const fn glow(at_least: Brightness, at_most: Brightness) -> Glow {
        Glow { at_least, at_most }
    }
    [
        ("not sure", glow(Dark, Lit)),
        ("unsure", glow(Dark, Lit)),
        ("unknown", glow(Dark, Lit)),
        ("did not look", glow(Dark, Lit)),
        ("did not see", glow(Dark, Lit)),
        ("could not see", glow(Dark, Lit)),
        ("could not tell", glow(Dark, Lit)),
        ("can not tell", glow(Dark, Lit)),
        ("hard to tell", glow(Dark, Lit)),
        ("not certain", glow(Dark, Lit)),
        ("uncertain", glow(Dark, Lit)),
        ("not known", glow(Dark, Lit)),
        ("?", glow(Dark, Lit)),
        ("undetermined", glow(Dark, Lit)),
        ("may be lit", glow(Dark, Lit)),
        ("may light", glow(Dark, Lit)),
        ("may glow", glow(Dark, Lit)),
        ("not dark", glow(Dim, Lit)),
        ("not off", glow(Dim, Lit)),
        ("dim or lit", glow(Dim, Lit)),
        ("lit or dim", glow(Dim, Lit)),
        ("not lit", glow(Dark, Dim)),
        ("not on", glow(Dark, Dim)),
        ("dark or dim", glow(Dark, Dim)),
        ("dim or dark", glow(Dark, Dim)),
        ("dark", glow(Dark, Dark)),
        ("off", glow(Dark, Dark)),
        ("out", glow(Dark, Dark)),
        ("unlit", glow(Dark, Dark)),
        ("dead", glow(Dark, Dark)),
        ("dim", glow(Dim, Dim)),
        ("faint", glow(Dim, Dim)),
        ("glows", glow(Dim, Dim)),
        ("glowing", glow(Dim, Dim)),
        ("lit", glow(Lit, Lit)),
        ("on", glow(Lit, Lit)),
        ("bright", glow(Lit, Lit)),
        ("full", glow(Lit, Lit)),
    ]
};

/// That no indicator lights.
const ALL_DARK: [&str; 9] = [
    "nothing lit",
    "no lights",
    "no light",
    "no lamps",
    "no power",
    "nothing",
    "none",
    "dead",
    "dark",
];

const GLOW_WORDS: [&str; 4] = ["dark", "dim", "lit", "not sure"];

pub(super) const SOUNDS: [(&str, bool); 46] = [
    ("nothing beeps", false),
    ("nothing sounds", false),
    ("none beeps", false),
    ("none beep", false),
    ("no beeps", false),
    ("no alarms", false),
    ("no alarm", false),
    ("no beep", false),
    ("no tone", false),
    ("not beeping", false),
    ("does not beep", false),
    ("does not sound", false),
    ("nothing", false),
    ("none", false),
    ("picks up nothing", false),
    ("detects nothing", false),
    ("finds nothing", false),
    ("no voltage", false),
    ("picks up voltage", true),
    ("detects voltage", true),
    ("finds voltage", true),
    ("voltage", true),
    ("nope", false),
    ("silent", false),
    ("silence", false),
    ("quiet", false),
    ("dead", false),
    ("no", false),
    ("alarms", true),
    ("alarm", true),
    ("beeps", true),
    ("beep", true),
    ("beeping", true),
    ("sounds", true),
    ("sound", true),
    ("tone", true),
    ("both beep", true),
    ("yes", true),
    ("no light", false),
    ("does not light", false),
    ("dark", false),
    ("lights up", true),
    ("lights", true),
    ("lit", true),
    ("glows", true),
    ("flashes", true),
];

/// What a continuity tester finds of a conductor.
const CONTINUOUS: [(&str, bool); 4] =
    [("good", true), ("continuous", true), ("broken", false), ("bad", false)];

const TRIPS: [(&str, bool); 17] = [
    ("does not trip it", false),
    ("does not trip", false),
    ("does nothing", false),
    ("does not work", false),
    ("did nothing", false),
    ("nothing happens", false),
    ("nothing happened", false),
    ("did not trip", false),
    ("no trip", false),
    ("not tripped", false),
    ("holds", false),
    ("nothing", false),
    ("trips it", true),
    ("trips", true),
    ("tripped", true),
    ("trip", true),
    ("works", true),
];

/// Between the volts without the load and those with it.
const FALLS: [&str; 10] =
    ["falls", "fell", "dropped", "drops", "drop", "sagged", "sags", "goes", "went", "down"];
const TO: [&str; 4] = ["down to", "to", "- >", "\u{2192}"];

/// Of two conductors that meet, and what an ohmmeter shows less than then: a judgement.
pub(super) const SHORT: [&str; 5] = ["dead short", "short circuit", "shorted", "shorts", "short"];
pub(super) const NO_SHORT: [&str; 4] = ["no short circuit", "no shorts", "no short", "not shorted"];
const SHORT_OHM: f64 = 10.0;

/// What the labels of testers conclude.
pub(super) const VERDICTS: [&str; 29] = [
    "no earth",
    "no live",
    "earth fault",
    "missing earth",
    "bad earth",
    "missing neutral",
    "correct",
    "correctly",
    "right",
    "ok",
    "okay",
    "good",
    "fine",
    "normal",
    "open",
    "no hot",
    "no neutral",
    "no ground",
    "bad ground",
    "bad neutral",
    "missing ground",
    "reversed",
    "swapped",
    "reverse polarity",
    "hot on neutral",
    "hot on ground",
    "wrong",
    "faulty",
    "fault",
];

/// Of what is there a load takes seldom more away, and nobody says so without a word.
const MOST_LOST: f64 = 0.5;

impl Reader<'_> {
    /// Whether how things stood begins here, or nothing comes any more.
    pub(super) fn showing_is_over(&mut self) -> bool {
        self.pass_marks();
        let begins = |token: &crate::condition::words::lexer::Token<'_>| {
            BEGINS.iter().any(|word| token.text.eq_ignore_ascii_case(word))
        };
        self.is_done()
            || self.token(0).is_some_and(begins)
            || self.token(1).is_some_and(begins) && self.token(0).is_some_and(|t| t.text == "and")
    }

    /// Nobody looked, or nobody is sure of anything.
    pub(super) fn nothing_told(&mut self) -> Option<Vec<Showed>> {
        self.pass_marks();
        if self.takes_any(&["did not look", "not looked", "didnt  look", "skipped"]) {
            return Some(Vec::new());
        }
        let unsure =
            ["not sure", "unsure", "unknown", "undetermined", "may beep", "may alarm", "may sound"];
        self.takes_any(&unsure).then(|| vec![Showed::NotSure])
    }

    /// `only hot-ground lit`, `hot-neutral only`: of the others is said that they are dark.
    fn only_these(&mut self, spans: &[&(String, String)], slots: &[&str]) -> Option<Vec<Showed>> {
        let mut ahead = self.clone();
        ahead.takes_any(&["lights up", "lights", "lit up", "lit"]);
        let is_first = ahead.takes_any(&["only", "just"]);
        let mut these = Vec::new();
        let mut next = ahead.clone();
        while let Ok(pair) = next.pair(slots) {
            ahead = next.clone();
            these.push(pair);
            next.pass_marks();
            next.takes("and");
        }
        ahead.takes_any(&["is", "are", "was", "were"]);
        let glow = ahead.glow_or_doubt().unwrap_or(Glow::certain(Brightness::Lit));
        let is_only = is_first || ahead.takes_any(&["only", "alone"]) || {
            ahead.pass_marks();
            ahead.takes_any(&["and nothing else", "nothing else"])
        };
        let is_it = |between: &(String, String), (p, q): &(String, String)| {
            *between == (p.clone(), q.clone()) || *between == (q.clone(), p.clone())
        };
        let is_known = |pair: &(String, String)| spans.iter().any(|span| is_it(span, pair));
        (is_only && !these.is_empty() && these.iter().all(is_known)).then_some(())?;
        *self = ahead;
        let indicator = |&between: &&(String, String)| {
            let is_named = these.iter().any(|pair| is_it(between, pair));
            let glow = if is_named { glow } else { Glow::certain(Brightness::Dark) };
            Showed::Indicator { between: between.clone(), glow }
        };
        Some(spans.iter().map(indicator).collect())
    }

    /// Passes what stands for all that was not named.
    pub(super) fn the_rest(&mut self) -> bool {
        self.takes_any(&[
            "all the others",
            "all others",
            "the others",
            "others",
            "all the rest",
            "the rest",
            "rest",
            "everything else",
            "the other two",
            "other two",
            "the other one",
            "the other",
        ])
    }

    /// Every indicator that is spoken of.
    pub(super) fn indicators(&mut self, tester: &PlugTester) -> Heard<Vec<Showed>> {
        let spans: Vec<&(String, String)> =
            tester.indicators.iter().map(|spanned| &spanned.between).collect();
        let mut slots: Vec<&str> = Vec::new();
        for slot in spans.iter().flat_map(|(p, q)| [p.as_str(), q.as_str()]) {
            if !slots.contains(&slot) {
                slots.push(slot);
            }
        }
        if let Some(only) = self.only_these(&spans, &slots) {
            return Ok(only);
        }
        let mut showed: Vec<Showed> = Vec::new();
        while !self.showing_is_over() {
            if !showed.is_empty() && self.doubts_all() {
                return Ok(vec![Showed::NotSure]);
            }
            self.takes("and");
            self.refuse_verdict(&spans)?;
            let start = self.span();
            if !showed.is_empty() && self.the_rest() {
                let glow = self.glow()?;
                for &between in &spans {
                    let is_it = |one: &Showed| matches!(one, Showed::Indicator { between: known, .. } if known == between);
                    if !showed.iter().any(is_it) {
                        showed.push(Showed::Indicator { between: between.clone(), glow });
                    }
                }
                continue;
            }
            let all =
                self.takes_any(&["all three", "all", "everything", "every indicator", "both"]);
            if all || self.takes_any(&ALL_DARK) {
                let dark = Glow::certain(Brightness::Dark);
                let glow = if all { self.glow()? } else { dark };
                self.takes_any(&["at all", "lit", "on the tester", "on it", "lights up"]);
                for &between in &spans {
                    self.indicator(&mut showed, (between, glow), &start)?;
                }
                continue;
            }
            let pair = self.pair(&slots).map_err(no_verdict)?;
            let spanned = spans
                .iter()
                .find(|&&between| *between == pair || (between.0 == pair.1 && between.1 == pair.0));
            let Some(&between) = spanned else {
                let known = spans.iter().map(|(p, q)| format!("{p}-{q}"));
                let mut problem =
                    self.here(format!("no indicator of this tester spans {}-{}", pair.0, pair.1));
                problem.span = start;
                return Err(problem.expected(known));
            };
            self.refuse_verdict(&spans)?;
            let glow = self.glow()?;
            self.indicator(&mut showed, (between, glow), &start)?;
        }
        if showed.is_empty() {
            let pairs = self.each_pair(&spans);
            return Err(self.here("what did it show?").expected(pairs.chain(["not sure".into()])));
        }
        Ok(showed)
    }

    /// How bright every indicator was, in their order and without between what; none if it is not said
    /// so.
    pub(super) fn glows_in_order(&mut self, tester: &PlugTester) -> Option<Vec<Showed>> {
        if tester.indicators.len() < 2 {
            return None;
        }
        let each = tester.indicators.iter().map(|spanned| {
            self.pass_marks();
            self.takes("and");
            let glow = self.glow_or_doubt()?;
            Some(Showed::Indicator { between: spanned.between.clone(), glow })
        });
        each.collect()
    }

    /// Puts how bright an indicator is; each is said once, or the same again.
    fn indicator(
        &self,
        showed: &mut Vec<Showed>,
        (between, glow): (&(String, String), Glow),
        start: &Range<usize>,
    ) -> Heard<()> {
        let before = showed.iter().find_map(|showed| match showed {
            Showed::Indicator { between: known, glow } if known == between => Some(*glow),
            _ => None,
        });
        match before {
            Some(before) if before != glow => {
                let (p, q) = between;
                let mut problem =
                    self.here(format!("{p}-{q} is said twice, and not the same both times"));
                problem.span = start.clone();
                Err(problem.expected(["each indicator once"]))
            }
            Some(_) => Ok(()),
            None => {
                showed.push(Showed::Indicator { between: between.clone(), glow });
                Ok(())
            }
        }
    }

    /// What a tester shows is which pairs are lit; what a label makes of that is no reading.
    fn refuse_verdict(&self, spans: &[&(String, String)]) -> Heard<()> {
        let mut ahead = self.clone();
        ahead.takes_any(&["all", "everything", "wiring", "wired", "it", "polarity"]);
        ahead.pass_before();
        if !ahead.takes_any(&VERDICTS) {
            return Ok(());
        }
        let message = "that is what a label makes of its lamps: which of them were lit?";
        Err(self.here(message).expected(self.each_pair(spans)))
    }

    fn each_pair(&self, spans: &[&(String, String)]) -> impl Iterator<Item = String> {
        let known = self.known;
        spans.iter().map(|span| format!("{} dark, dim or lit", pair_words(known, span)))
    }

    fn glow(&mut self) -> Heard<Glow> {
        self.pass_small_but_on();
        if self.clone().takes_any(&["flickers", "flickering", "blinks", "comes and goes"]) {
            let message = "how bright is it most of the time? `not sure` if nobody can say; that \
                           `lights flicker` is a complaint";
            return Err(self.here(message).expected(GLOW_WORDS));
        }
        self.glow_or_doubt().ok_or_else(|| self.none_of("how bright an indicator is", &GLOW_WORDS))
    }

    /// `is on` is lit, so that `on` is no small word here.
    fn pass_small_but_on(&mut self) {
        self.takes_any(&["is", "was", "are", "were"]);
    }

    /// A step of a tester that shows steps, by its label.
    pub(super) fn step(&mut self, tester: &StepTester) -> Heard<Showed> {
        if self.takes_any(&["nothing", "none"]) {
            return Ok(Showed::Step(None));
        }
        let label = tester.steps.iter().find(|step| self.takes(&step.label));
        if let Some(step) = label {
            return Ok(Showed::Step(Some(step.label.clone())));
        }
        if let Some(quoted) = self.token(0).filter(|token| token.kind == TokenKind::Quoted)
            && let Some(step) = tester.steps.iter().find(|step| step.label == quoted.text)
        {
            self.skip(1);
            return Ok(Showed::Step(Some(step.label.clone())));
        }
        let labels: Vec<&str> = tester.steps.iter().map(|step| step.label.as_str()).collect();
        let labels: Vec<&str> = labels.into_iter().chain(["nothing"]).collect();
        Err(self.none_of("a step of this tester", &labels))
    }

    pub(super) fn alarm(&mut self) -> Heard<bool> {
        self.takes_any(&["is", "was", "are", "both", "does", "did"]);
        self.choice(&SOUNDS).ok_or_else(|| self.none_of("what it did", &["beeps", "silent"]))
    }

    pub(super) fn trips(&mut self) -> Heard<Showed> {
        let trips = self.choice(&TRIPS);
        let words = ["trips", "does not trip"];
        trips.map(Showed::Tripped).ok_or_else(|| self.none_of("what it did", &words))
    }

    /// Ohms, over range, or a tone.
    pub(super) fn ohms(&mut self, meter: &Ohmmeter) -> Heard<Showed> {
        if self.amount_is_next() {
            return Ok(Showed::Ohm(self.amount(Unit::Ohm)?));
        }
        if self.takes_any(&["ol", "over range", "over limit", "infinite", "open"]) {
            return Ok(Showed::Ohm(Amount::Over(meter.over_range_ohm)));
        }
        if self.takes_any(&NO_SHORT) {
            return Ok(Showed::Ohm(Amount::Over(SHORT_OHM)));
        }
        if self.takes_any(&SHORT) {
            return Ok(Showed::Ohm(Amount::Under(SHORT_OHM)));
        }
        if meter.tone_below_ohm.is_none() {
            return Ok(Showed::Ohm(self.amount(Unit::Ohm)?));
        }
        self.choice(&CONTINUOUS)
            .or_else(|| self.choice(&SOUNDS))
            .map(Showed::Continuity)
            .ok_or_else(|| self.none_of("what it showed", &["0.3 ohm", "OL", "tone", "no tone"]))
    }

    /// Whether what comes is `119 V falls to ...`, or two figures of which the first is larger.
    fn falls_next(&self) -> bool {
        let mut ahead = self.clone();
        let Ok(before) = ahead.single(Unit::Volt) else { return false };
        let falls = ahead.takes_any(&FALLS);
        // Two figures that are both much of what is there are before and after.
        let is_much = |volt: f64| volt > MOST_LOST * supply_volt(self.known.circuit);
        let bare = ahead.clone();
        ahead.pass_marks();
        let two = ahead.single(Unit::Volt).is_ok_and(|after| after < before && is_much(after));
        ahead.pass_marks();
        let ends = ahead.showing_is_over() || ahead.clone().slot(&["hot", "neutral"]).is_ok();
        falls || two && ends || {
            let mut ahead = bare;
            ahead.takes_any(&TO) && ahead.single(Unit::Volt).is_ok_and(|after| after < before)
        }
    }

    /// Two figures with a large lower one may be from which volts to which, read the wrong way round.
    fn is_what_was_lost(&self, volt: Amount, start: usize) -> Heard<()> {
        let Amount::Between { low, high } = volt else { return Ok(()) };
        if low <= high - low {
            return Ok(());
        }
        let mut problem = self.here("is that from which volts to which, or what was lost?");
        problem.span = start..self.span().start;
        let [high, low] = [high, low].map(|volt| amount::tell(&Amount::Exactly(volt), Unit::Volt));
        Err(problem.expected([format!("from {high} to {low}"), format!("lost {low} to {high}")]))
    }

    /// What a load takes away of what this supply has, as an example.
    fn example_of_loss(&self) -> String {
        let volt = supply_volt(self.known.circuit);
        let [before, after] = [volt - 1.0, volt * 0.92].map(f64::round);
        format!("from {before} V to {after} V")
    }

    /// A place that is dead has nothing that a load could take away.
    fn refuse_dead(&self) -> Heard<()> {
        match self.clone().takes_any(&DEAD) {
            true => Err(self
                .here("a loaded test says what is lost of a voltage, and there is none")
                .expected(["voltmeter at BOX: hot-neutral 0 V", "tester at BOX: all dark"])),
            false => Ok(()),
        }
    }

    /// Passes `119 V falls to 107 V`, `119 V, 107 V`: how many volts that are.
    fn fell_by(&mut self) -> Heard<f64> {
        let start = self.span().start;
        let before = self.single(Unit::Volt)?;
        let falls = self.takes_any(&FALLS);
        if !falls {
            self.pass_marks();
        }
        if !self.takes_any(&TO) && (falls || !self.amount_is_next()) {
            return Err(self.none_of("the volts with the load on", &["to"]));
        }
        let after = self.single(Unit::Volt)?;
        let lost = before - after;
        if lost < 0.0 {
            let mut problem = self.here("the volts with the load on are the lower ones");
            problem.span = start..self.span().start;
            return Err(problem.expected([self.example_of_loss()]));
        }
        Ok(lost)
    }

    /// A bare figure that is much of what is there may be what was left of it.
    fn is_all_that_was_left(
        &self,
        volt: Amount,
        (is_said, said): (bool, Range<usize>),
    ) -> Heard<()> {
        let much = MOST_LOST * supply_volt(self.known.circuit);
        let is_much = matches!(volt, Amount::Exactly(volt) | Amount::About(volt) if volt > much);
        if is_said || !is_much {
            return Ok(());
        }
        let mut problem = self.here("is that what it lost, or what was left of how much?");
        problem.span = said;
        let lost = format!("lost {}", amount::tell(&volt, Unit::Volt));
        Err(problem.expected([self.example_of_loss(), lost]))
    }

    /// Passes `12 %`: a share of what the supply has.
    fn share_lost(&mut self) -> Option<Amount> {
        let percent: f64 = self.token(0)?.text.parse().ok().filter(|share| *share >= 0.0)?;
        let mut ahead = self.clone();
        if !ahead.skip_number() || !ahead.takes_any(&["%", "percent"]) {
            return None;
        }
        *self = ahead;
        let lost = percent / 100.0 * supply_volt(self.known.circuit);
        Some(Amount::About((lost * 10.0).round() / 10.0))
    }

    /// Passes `at 15 A`, where that is what a loaded test draws.
    fn at_its_load(&mut self, test: &LoadedTest) {
        let mut ahead = self.clone();
        ahead.takes_any(&["at", "under", "with"]);
        ahead.takes("a");
        let Ok(ampere) = ahead.single(Unit::Ampere) else { return };
        let drawn = supply_volt(self.known.circuit) / test.load.resistance_ohm;
        if (ampere - drawn).abs() < 1.0 {
            ahead.takes("load");
            *self = ahead;
        }
    }

    /// Volts that a load took away, all in all or along one conductor.
    pub(super) fn losses(&mut self, test: &LoadedTest) -> Heard<Vec<Showed>> {
        let mut showed: Vec<Showed> = Vec::new();
        let mut ohms: Vec<(String, f64)> = Vec::new();
        let mut fell_by: Option<f64> = None;
        while !self.showing_is_over() {
            self.takes("and");
            self.takes_any(&["the voltage", "voltage", "it"]);
            self.refuse_dead()?;
            self.takes_any(&FALLS);
            if self.takes("from") || self.falls_next() {
                let lost = self.fell_by()?;
                // Of two figures read off to a volt or a tenth, no more is known of the rest.
                showed.push(Showed::LostVolt(Amount::Exactly((lost * 10.0).round() / 10.0)));
                fell_by = Some(lost);
                continue;
            }
            let mut ahead = self.clone();
            if let Ok(conductor) = ahead.slot(&["hot", "neutral"]) {
                *self = ahead;
                ohms.push((conductor, self.single(Unit::Ohm)?));
                continue;
            }
            let start = self.span();
            let is_said = self.takes_any(&["lost", "loses", "loss", "by"]);
            let volt = match self.takes_any(&["nothing", "none"]) {
                true => Amount::Exactly(0.0),
                false => self.share_lost().map_or_else(|| self.amount(Unit::Volt), Ok)?,
            };
            if !is_said && volt == Amount::Exactly(0.0) {
                let mut problem = self.here("is that what it lost, or is nothing there to load?");
                problem.span = start;
                return Err(problem.expected(["lost 0 V", "did not look, and a voltmeter instead"]));
            }
            let is_said = self.takes_any(&["lost", "less", "voltage drop", "drop"]) || is_said;
            self.at_its_load(test);
            self.is_all_that_was_left(volt, (is_said, start.clone()))?;
            if !is_said {
                self.is_what_was_lost(volt, start.start)?;
            }
            if !self.takes_any(&["along", "on", "in"]) {
                showed.push(Showed::LostVolt(volt));
                continue;
            }
            self.takes("the");
            let conductor = self.slot(&["hot", "neutral"])?;
            showed.push(Showed::LostAlong { conductor, volt });
        }
        if let Some(lost) = fell_by {
            showed.extend(shares(lost, ohms));
        } else if !ohms.is_empty() {
            let message = "ohms along a conductor are said after what the volts fell to";
            return Err(self
                .here(message)
                .expected([format!("{}, hot 0.2 ohm, neutral 0.5 ohm", self.example_of_loss())]));
        }
        if showed.is_empty() {
            let loss = self.example_of_loss();
            let forms = ["lost 4 V", &loss, "lost 3 V along neutral"];
            return Err(self.here("what did the load take away?").expected(forms));
        }
        Ok(showed)
    }
}

/// What a tester shows is which pairs are lit; what a legend makes of that is no reading.
fn no_verdict(mut problem: Problem) -> Problem {
    if problem.suggestions.is_empty() {
        problem.message.push_str(": of each, say whether it is dark, dim or lit");
    }
    problem
}

/// What is lost along each of two conductors, in proportion to their ohms; of one alone nothing is
/// known but its part of the whole.
fn shares(lost_volt: f64, ohms: Vec<(String, f64)>) -> Vec<Showed> {
    let all: f64 = ohms.iter().map(|(_, ohm)| ohm).sum();
    if ohms.len() < 2 || all <= 0.0 {
        return Vec::new();
    }
    let along = |(conductor, ohm): (String, f64)| {
        let volt = Amount::Exactly((lost_volt * ohm / all * 10.0).round() / 10.0);
        Showed::LostAlong { conductor, volt }
    };
    ohms.into_iter().map(along).collect()
}

/// A slot as the circuit's vocabulary calls it.
pub(super) fn slot_word(vocabulary: Vocabulary, slot: &str) -> &str {
    if slot == "earth" { "soil" } else { speak::conductor(vocabulary, slot) }
}

/// Two slots.
pub(super) fn pair_words(known: &Known<'_>, (p, q): &(String, String)) -> String {
    let vocabulary = known.circuit.parts().vocabulary;
    format!("{}-{}", slot_word(vocabulary, p), slot_word(vocabulary, q))
}

fn glow_word(glow: Glow) -> &'static str {
    GLOWS.iter().find(|(_, known)| *known == glow).map_or("not sure", |(word, _)| word)
}

/// What was shown in words that are heard as it; where only one thing is shown at a place, it
/// stands alone.
pub(super) fn tell(
    known: &Known<'_>,
    instrument: Option<&Instrument>,
    showed: &[Showed],
) -> String {
    if showed.is_empty() {
        return "did not look".to_owned();
    }
    let one = |showed: &Showed| match showed {
        Showed::NotSure => "not sure".to_owned(),
        Showed::Indicator { between, glow } => {
            format!("{} {}", pair_words(known, between), glow_word(*glow))
        }
        Showed::Volt(volt) => amount::tell(volt, Unit::Volt),
        Showed::Step(label) => {
            label.as_ref().map_or("nothing".to_owned(), |label| format!("\"{label}\""))
        }
        Showed::Alarm(true) => "beeps".to_owned(),
        Showed::Alarm(false) => "silent".to_owned(),
        Showed::Ampere(ampere) => amount::tell(ampere, Unit::Ampere),
        Showed::Ohm(Amount::Over(over)) if is_over_range(instrument, *over) => "OL".to_owned(),
        Showed::Ohm(ohm) => amount::tell(ohm, Unit::Ohm),
        Showed::Continuity(true) => "tone".to_owned(),
        Showed::Continuity(false) => "no tone".to_owned(),
        Showed::LostVolt(volt) => format!("lost {}", amount::tell(volt, Unit::Volt)),
        Showed::LostAlong { conductor, volt } => {
            let word = slot_word(known.circuit.parts().vocabulary, conductor);
            format!("lost {} along {word}", amount::tell(volt, Unit::Volt))
        }
        Showed::Tripped(true) => "trips".to_owned(),
        Showed::Tripped(false) => "does not trip".to_owned(),
    };
    showed.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn is_over_range(instrument: Option<&Instrument>, ohm: f64) -> bool {
    matches!(instrument, Some(Instrument::Ohmmeter(meter))
        if ohm >= meter.over_range_ohm)
}
