//! Answers to a test that was asked for: what was shown, without saying again where.

use crate::circuit::Circuit;
use crate::circuit::reach::Reach;
use crate::condition::words::known::Known;
use crate::condition::words::lexer::tokens;
use crate::condition::words::problem::WordsProblem;
use crate::condition::words::speak;
use crate::condition::{AttachedLaw, Attachment, Condition};
use crate::diagnosis::{Moment, NextTest, Observation, Protected, Seen, Showed, Tool};
use crate::instrument::{Instrument, Place, Request};
use crate::quantity::Address;

use super::everyday::as_shown;
use super::reader::Reader;
use super::short::is_all_well;
use super::{each_sentence, observations, plain, tell_where, written};

/// Reads the answer to a question that was asked: what this instrument showed at this place.
///
/// # Errors
///
/// What is wrong with the answer.
///
/// ```
/// use slotwise::diagnosis::{Amount, Showed, words};
/// use slotwise::instrument::{Place, Request, presets};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let meter = presets::voltmeter_high_impedance();
/// let asked = Request::new(meter, Place::between("door.hot", "door.neutral"));
/// let showed = words::answer(&studio, &asked, "about 60 V").unwrap();
/// assert_eq!(showed, [Showed::Volt(Amount::About(60.0))]);
/// assert!(words::answer(&studio, &asked, "did not look").unwrap().is_empty());
/// ```
pub fn answer(
    circuit: &Circuit,
    asked: &Request,
    text: &str,
) -> Result<Vec<Showed>, Box<WordsProblem>> {
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = as_shown(&known, &tokens(&plain));
    let mut reader = Reader::new(&known, &plain, &tokens);
    let read = reader.showed(&asked.instrument).and_then(|showed| {
        reader.end()?;
        Ok(showed)
    });
    read.map_err(|problem| Box::new(written(*problem, text)))
}

/// Reads what was found in a box that was to be opened, without saying again which; what names its own
/// place is heard as that.
///
/// # Errors
///
/// What is wrong with it as something that was seen.
///
/// ```
/// use slotwise::diagnosis::{Means, Seen, words};
/// # let studio = slotwise::circuit::file::read(
/// #     r#"(
/// #     format: 1,
/// #     circuits: [(id: "c1", amperes: 20)],
/// #     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// # )"#,
/// # )
/// # .unwrap()
/// # .circuit;
/// let tools = Means::default().tools;
/// let place = |text: &str| {
///     let said = words::found_in(&studio, &tools, "door", text).unwrap();
///     let Seen::Opened { place, .. } = said[0].seen.clone() else { panic!() };
///     place
/// };
/// assert_eq!(place("neutral loose, line side"), "door");
/// assert_eq!(place("opened kiln: neutral loose, line side"), "kiln");
/// ```
pub fn found_in(
    circuit: &Circuit,
    tools: &[Tool],
    place: &str,
    text: &str,
) -> Result<Vec<Observation>, Vec<WordsProblem>> {
    observations(circuit, tools, text).or_else(|problems| {
        if is_all_well(circuit, text) {
            return Err(problems);
        }
        let opened = format!("opened {}: {text}", speak::name(place));
        observations(circuit, tools, &opened).map_err(|_| problems)
    })
}

/// Whoever reads a meter in a box that was opened for it has seen nothing bad there.
fn with_open_box(
    circuit: &Circuit,
    test: &NextTest,
    mut said: Vec<Observation>,
) -> Vec<Observation> {
    let Some(parting) = &test.parting else { return said };
    for one in &mut said {
        if one.moment.condition == parting.condition(circuit) {
            one.moment = test.moment.clone();
        }
    }
    if said.iter().any(|one| !one.says_nothing()) {
        let seen = Seen::Opened { place: parting.place.clone(), found: Vec::new() };
        said.insert(0, Observation { moment: Moment::default(), seen });
    }
    said
}

/// The breakers that are off and feed a device: with them off it neither holds nor trips, and who says that it
/// does says it of when it was tried.
fn off_before(circuit: &Circuit, stands: &Condition, device: &str) -> Vec<String> {
    if circuit.device(device).is_none() {
        return Vec::new();
    }
    let of_it = format!("{device}.");
    let off = stands.breakers.iter().filter(|(name, closed)| !**closed && *name != device);
    let feeds = |name: &&String| {
        let fed = Reach::behind_all(circuit, [name.as_str()]).terminals;
        fed.iter().any(|terminal| terminal.starts_with(&of_it))
    };
    off.map(|(name, _)| name).filter(feeds).cloned().collect()
}

/// How things stand for what trips during a test: with the load of a loaded test on.
fn with_its_load(circuit: &Circuit, test: &NextTest) -> Moment {
    let mut moment = test.moment.clone();
    let load = test.looks.iter().find_map(|look| match &look.instrument {
        Instrument::LoadedTest(tester) => Some(tester.load.resistance_ohm),
        _ => None,
    });
    let mut outlets = circuit.outlets().map(|(_, outlet)| outlet);
    let outlet = outlets.find(|outlet| outlet.address == test.at);
    let slot = |name: &str| {
        let slots = &outlet?.slots;
        slots.iter().find(|(slot, _)| slot == name).map(|(_, at)| at.clone())
    };
    let between = slot("hot").zip(slot("neutral").or_else(|| slot("hot2")));
    if let Some((load, between)) = load.zip(between) {
        let law = AttachedLaw::ResistanceOhm(load);
        let id = "loaded-test".to_owned();
        moment.condition.attached.push(Attachment { id, between, law });
    }
    moment
}

/// What each look of a test showed, said in the order in which the test lists them, without between
/// what; none if it is not said so.
fn in_order(circuit: &Circuit, test: &NextTest, text: &str) -> Option<Vec<Observation>> {
    let known = Known::of(circuit);
    let plain = plain(text);
    let tokens = as_shown(&known, &tokens(&plain));
    let mut reader = Reader::new(&known, &plain, &tokens);
    let showed = reader.showed_in_order(&test.looks)?;
    let moment = test.moment.and_besides(&reader.moment().ok()?);
    // A run that is parted stands one way only.
    if test.parting.is_some() && moment != test.moment {
        return None;
    }
    let looks = test.looks.iter().zip(showed).map(|(look, showed)| {
        let seen = Seen::Instrument { request: Box::new(look.clone()), showed };
        Observation { moment: moment.clone(), seen }
    });
    Some(with_open_box(circuit, test, looks.collect()))
}

/// What was said as an answer to a test, each as things stood: what a breaker or device did, when it was closed
/// for the test or as it was before.
fn in_state(
    (circuit, test, standing): (&Circuit, &NextTest, &Moment),
    said: Vec<Observation>,
    moment: &Moment,
) -> Vec<Observation> {
    let unstated = |mut one: Observation| {
        let is_box = matches!(one.seen, Seen::Opened { .. });
        // What trips does so as it is closed for the test, unless that is made with it off.
        let is_closed_for_it = match &one.seen {
            Seen::Protection { name, .. } => {
                test.moment.condition.breakers.get(name) != Some(&false)
            }
            _ => false,
        };
        let is_of_a_breaker = matches!(one.seen, Seen::Protection { .. });
        if !is_box {
            let held = with_its_load(circuit, test);
            let trips = Protected::TripsAtOnce;
            let is_tripped = matches!(one.seen, Seen::Protection { did, .. } if did == trips);
            let feeders = match &one.seen {
                Seen::Protection { name, .. } => off_before(circuit, &test.moment.condition, name),
                _ => Vec::new(),
            };
            let stands = match is_of_a_breaker {
                true if !feeders.is_empty() => standing,
                true if is_closed_for_it && is_tripped => &held,
                true if is_closed_for_it => &test.moment,
                true => standing,
                false => moment,
            };
            let mut stands = stands.clone();
            stands.condition.breakers.retain(|name, _| !feeders.contains(name));
            one.moment = stands.and_besides(&one.moment);
        }
        one
    };
    said.into_iter().map(unstated).collect()
}

/// What only lamps show.
const GLOWS: [&str; 3] = ["lit", "dark", "dim"];

/// The answer with the instrument before it that shows such things, where another was asked for: who has
/// a tester in hand takes that.
fn of_another_tool(
    circuit: &Circuit,
    tools: &[Tool],
    test: &NextTest,
    text: &str,
) -> Option<String> {
    let asked = &test.looks.first()?.instrument;
    if test.parting.is_some() {
        return None;
    }
    let between = |c: char| c.is_whitespace() || c == ',';
    let words = || text.split(between).filter(|word| !word.is_empty());
    let is_glow = |word: &str| GLOWS.iter().any(|glow| word.eq_ignore_ascii_case(glow));
    let is_figure = |word: &str| {
        let number = word.trim_end_matches(['v', 'V']);
        number.starts_with(|c: char| c.is_ascii_digit() || c == '.')
            && number.parse::<f64>().is_ok()
    };
    let is_tester = |tool: &&Tool| matches!(tool.instrument, Instrument::PlugTester(_));
    let is_meter = |tool: &&Tool| matches!(tool.instrument, Instrument::Voltmeter(_));
    let tool = match asked {
        Instrument::PlugTester(_) | Instrument::NonContact(_) if words().all(is_figure) => {
            tools.iter().find(is_meter)
        }
        Instrument::NonContact(_) | Instrument::LoadedTest(_) if words().all(is_glow) => {
            tools.iter().find(is_tester)
        }
        _ => None,
    };
    let words = words().collect::<Vec<_>>().join(" ");
    Some(format!("\"{}\" {}: {words}", tool?.name, tell_where(circuit, test)))
}

/// Reads the answer to a test: what was shown there, in the state the test asks for unless the
/// answer says another; or any other observation, in the state in which things stand.
///
/// # Errors
///
/// What is wrong with it as an answer to this test.
///
/// ```
/// use slotwise::diagnosis::{Advice, Complaint, Inquiry, Means, words};
/// let studio = slotwise::circuit::file::read(
///     r#"(
///     format: 1,
///     circuits: [(id: "c1", amperes: 20)],
///     boxes: [(id: "door", from: "c1", feet: 30), (id: "kiln", from: "door", feet: 12)],
/// )"#,
/// )
/// .unwrap()
/// .circuit;
/// let means = Means::default();
/// let mut inquiry = Inquiry::new(&studio, means.clone());
/// inquiry.complain(&Complaint::DeadFrom { place: "door".into() }).unwrap();
/// if let Advice::Test(test) = inquiry.advise() {
///     let other = "tester at kiln: all dark";
///     let said = words::answers(&studio, &means.tools, &test, &test.moment, other).unwrap();
///     assert_eq!(said.len(), 1);
/// }
/// ```
pub fn answers(
    circuit: &Circuit,
    tools: &[Tool],
    test: &NextTest,
    standing: &Moment,
    text: &str,
) -> Result<Vec<Observation>, Vec<WordsProblem>> {
    // Of the one look that was asked for it need not be said between what.
    if let [look] = test.looks.as_slice()
        && matches!(look.instrument, Instrument::Voltmeter(_) | Instrument::StepTester(_))
        && let Ok(showed) = answer(circuit, look, text)
    {
        let seen = Seen::Instrument { request: Box::new(look.clone()), showed };
        return Ok(vec![Observation { moment: test.moment.clone(), seen }]);
    }
    if let Some(other) = of_another_tool(circuit, tools, test, text)
        && let Ok(said) = observations(circuit, tools, &other)
    {
        return Ok(in_state((circuit, test, standing), said, &test.moment));
    }
    if let Some(listed) = in_order(circuit, test, text) {
        return Ok(listed);
    }
    let asked = format!("\"{}\" {}: ", test.instrument, tell_where(circuit, test));
    let in_state = |said, moment: &Moment| in_state((circuit, test, standing), said, moment);
    let near = |look: &Request| match &look.place {
        Place::Near { terminal, .. } => Some(terminal.clone()),
        _ => None,
    };
    let held: Vec<Address> = test.looks.iter().filter_map(near).collect();
    let said = each_sentence(circuit, &format!("{asked}{text}"), |reader| {
        reader.asked.clone_from(&held);
        reader.observations(tools)
    });
    let problems = match said {
        Ok(said) => return Ok(with_open_box(circuit, test, in_state(said, &test.moment))),
        Err(problems) => problems,
    };
    // What names its own place is of that place, whatever was asked.
    let others = match observations(circuit, tools, text) {
        Ok(other) => return Ok(in_state(other, standing)),
        Err(others) => others,
    };
    // The test begins with a look at every joint: what is found there is an answer too.
    let found = test.parting.as_ref().map(|parting| found_in(circuit, tools, &parting.place, text));
    if let Some(Ok(found)) = found {
        return Ok(found);
    }
    let shifted = problems.into_iter().map(|mut problem| {
        let back = |at: usize| at.saturating_sub(asked.len());
        problem.span = back(problem.span.start)..back(problem.span.end);
        problem.example = None;
        problem
    });
    let shifted: Vec<WordsProblem> = shifted.collect();
    // Whichever way of hearing it went further is the one that was meant.
    let reach = |problems: &[WordsProblem]| problems.first().map_or(0, |one| one.span.start);
    if reach(&others) > reach(&shifted) { Err(others) } else { Err(shifted) }
}
