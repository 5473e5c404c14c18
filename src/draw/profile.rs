//! Potentials along the way from a panel to a box: what is where, and the diagram of it.

use crate::circuit::connection::{contact_element, wire_element, wire_end};
use crate::circuit::{CableEnd, UnknownName};
use crate::quantity::{Address, Phasor};

use super::axis::{self, Diagram};
use super::content::{Source, end_number};
use super::legend::profile_legend;
use super::mark::{self, Marks};
use super::reading::{Level, Reading};
use super::survey::{Run, Strand, lane_order};
use super::words::{Body, Words};

/// A box on the way.
#[derive(Debug)]
pub(super) struct Stop {
    pub(super) name: String,
    pub(super) metre: f64,
}

/// The potential at one point of a conductor.
#[derive(Debug)]
pub(super) struct Sample {
    pub(super) metre: f64,
    /// To earth; none where nothing leads there.
    pub(super) potential: Option<Phasor>,
    pub(super) level: Level,
    /// Where it is, for the sample's step from the one before: numbers of the faults there.
    pub(super) faults: Vec<usize>,
}

impl Sample {
    /// Rms volts to earth.
    pub(super) fn volt(&self) -> Option<f64> {
        self.potential.map(Phasor::magnitude)
    }
}

/// A conductor along the way.
#[derive(Debug)]
pub(super) struct Course {
    /// Its name in the words of the circuit.
    pub(super) name: String,
    /// In the order of the way; one without potential parts those before and after.
    pub(super) samples: Vec<Sample>,
}

/// One cable of the way, and at which of its ends it is entered.
#[derive(Clone, Copy)]
struct Leg {
    run: usize,
    enters: CableEnd,
}

/// The diagram of the way to a box; without one the farthest past most faults.
pub(super) fn body(
    source: &Source<'_>,
    words: &Words<'_>,
    to: Option<&str>,
) -> Result<Body, UnknownName> {
    let spots = &source.survey.spots;
    let end = match to {
        Some(name) => spots.iter().position(|spot| spot.name == name).ok_or_else(|| {
            UnknownName::among(name, "a box", spots.iter().map(|spot| spot.name.as_str()))
        })?,
        None => farthest(source),
    };
    let mut legs = way(source, end);
    if to.is_none() {
        legs.extend(way_back(source, end));
    }
    let stops = stops(source, end, &legs);
    let courses = courses(source, &legs);
    let start = stops.first().map_or("", |stop| stop.name.as_str());
    let last = stops.last().map_or("", |stop| stop.name.as_str());
    let subject = format!("potentials to earth from {start} to {last}, against distance");
    let described = courses.iter().map(|course| in_words(course, source));
    let description: Vec<String> = words.sentences().into_iter().chain(described).collect();
    let diagram = Diagram { stops: &stops, courses: &courses, vocabulary: words.vocabulary };
    let (drawing, breaks) = axis::draw(&diagram);
    Ok(Body {
        subject,
        description: description.join(" "),
        drawing,
        breaks,
        legend: profile_legend,
    })
}

/// The box past most faults, of those the one with the longest way.
fn farthest(source: &Source<'_>) -> usize {
    let rank = |spot: usize| {
        let legs = way(source, spot);
        let faults = legs.iter().map(|leg| faults_of(source, leg.run)).sum::<usize>();
        let metres: f64 = legs.iter().map(|leg| source.survey.runs[leg.run].cable.length_m).sum();
        (faults, metres)
    };
    let ranked = (0..source.survey.spots.len()).map(|spot| (rank(spot), spot));
    let best = ranked.max_by(|((faults, metres), spot), ((more, further), other)| {
        faults.cmp(more).then(metres.total_cmp(further)).then(other.cmp(spot))
    });
    best.map_or(0, |(_, spot)| spot)
}

/// How many faults are marked on a cable and its joints.
fn faults_of(source: &Source<'_>, run: usize) -> usize {
    let run = &source.survey.runs[run];
    let inside = source.marks.by_cable.get(&run.cable.id).map_or(0, Vec::len);
    let joints = [CableEnd::A, CableEnd::B].into_iter().flat_map(|end| {
        run.strands.iter().map(move |strand| contact_element(&run.cable.id, end, strand.name))
    });
    let joints: Vec<String> = joints.collect();
    inside + source.marks.on(&joints).len()
}

/// The cables from a panel to a box.
fn way(source: &Source<'_>, end: usize) -> Vec<Leg> {
    let mut legs = Vec::new();
    let mut here = Some(end);
    while let Some(run) = here.and_then(|spot| source.arrangement.reached_by[spot]) {
        let ends = source.survey.runs[run].ends;
        let enters = if ends[1] == here { CableEnd::A } else { CableEnd::B };
        legs.push(Leg { run, enters });
        here = ends[end_number(enters)];
    }
    legs.reverse();
    legs
}

/// The cable that closes a ring from its last box.
fn way_back(source: &Source<'_>, end: usize) -> Option<Leg> {
    let ports = source.arrangement.ports[end].iter();
    let closing = ports.filter(|port| {
        let used = source.arrangement.reached_by.contains(&Some(port.run));
        let [a, b] = source.survey.runs[port.run].ends;
        !used && a.is_some() && b.is_some() && a != b
    });
    let port = closing.min_by_key(|port| port.run)?;
    Some(Leg { run: port.run, enters: port.end })
}

fn stops(source: &Source<'_>, end: usize, legs: &[Leg]) -> Vec<Stop> {
    let spots = &source.survey.spots;
    let Some(first) = legs.first() else {
        return vec![Stop { name: spots[end].name.clone(), metre: 0.0 }];
    };
    let name = |leg: &Leg, number: usize| {
        let spot = source.survey.runs[leg.run].ends[number];
        spot.map_or_else(String::new, |spot| spots[spot].name.clone())
    };
    let mut metre = 0.0;
    let mut stops = vec![Stop { name: name(first, end_number(first.enters)), metre }];
    for leg in legs {
        metre += source.survey.runs[leg.run].cable.length_m;
        stops.push(Stop { name: name(leg, 1 - end_number(leg.enters)), metre });
    }
    stops
}

/// Every conductor of the way, in the order of the lanes.
fn courses(source: &Source<'_>, legs: &[Leg]) -> Vec<Course> {
    let mut names: Vec<&str> = Vec::new();
    for leg in legs {
        for strand in &source.survey.runs[leg.run].strands {
            if !names.contains(&strand.name) {
                names.push(strand.name);
            }
        }
    }
    names.sort_by(|one, other| lane_order(one).cmp(&lane_order(other)));
    let course =
        |name: &&str| Course { name: source.word(name), samples: samples(source, legs, name) };
    names.iter().map(course).filter(|course| course.samples.len() > 1).collect()
}

fn samples(source: &Source<'_>, legs: &[Leg], name: &str) -> Vec<Sample> {
    let mut samples = Vec::new();
    let mut metre = 0.0;
    for leg in legs {
        let run = &source.survey.runs[leg.run];
        match run.strands.iter().find(|strand| strand.name == name) {
            Some(strand) => along(source, run, strand, (leg.enters, metre), &mut samples),
            // The conductor does not go this way.
            None => samples.push(Sample {
                metre,
                potential: None,
                level: Level::Unknown,
                faults: Vec::new(),
            }),
        }
        metre += run.cable.length_m;
    }
    samples
}

/// A conductor along one cable: what it lands on, its wire's ends and what is wrong between
/// them, what it lands on.
fn along(
    source: &Source<'_>,
    run: &Run<'_>,
    strand: &Strand<'_>,
    (enters, start): (CableEnd, f64),
    samples: &mut Vec<Sample>,
) {
    let cable = &run.cable;
    let leaves = if enters == CableEnd::A { CableEnd::B } else { CableEnd::A };
    let mut put = |metre: f64, reading: Reading, faults: Vec<usize>| {
        let Reading { potential, level, .. } = reading;
        samples.push(Sample { metre, potential, level, faults });
    };
    let joint = |end: CableEnd| {
        let contact = contact_element(&cable.id, end, strand.name);
        mark::numbers(&source.marks.on([&contact]))
    };
    let read = |address: &Address| source.meter.read(address);
    let landed = |end: CableEnd| {
        source.meter.landed(&contact_element(&cable.id, end, strand.name)).map(read)
    };
    if let Some(reading) = landed(enters) {
        put(start, reading, Vec::new());
    }
    put(start, read(&wire_end(&cable.id, enters, strand.name)), joint(enters));
    for (metre, reading, faults) in inside(source, run, strand.name, enters) {
        put(start + metre, reading, faults);
    }
    let finish = start + cable.length_m;
    put(finish, read(&wire_end(&cable.id, leaves, strand.name)), Vec::new());
    if let Some(reading) = landed(leaves) {
        put(finish, reading, joint(leaves));
    }
}

/// The points inside a cable where it is wrong: metres from the end entered.
fn inside(
    source: &Source<'_>,
    run: &Run<'_>,
    name: &str,
    enters: CableEnd,
) -> Vec<(f64, Reading, Vec<usize>)> {
    let fractions = stations(source.marks, &run.cable.id);
    let wire = wire_element(&run.cable.id, name);
    let mut points = Vec::new();
    for (number, (fraction, mut faults)) in fractions.into_iter().enumerate() {
        let metre = fraction * run.cable.length_m;
        // The wire is in pieces, numbered from end a: this place is between two of them.
        let before = source.meter.ends(&format!("{wire}~{}", number + 1));
        let after = source.meter.ends(&format!("{wire}~{}", number + 2));
        let (Some((_, before)), Some((after, _))) = (before, after) else { continue };
        if before == after {
            faults.clear();
        }
        points.push((metre, source.meter.read(before), Vec::new()));
        points.push((metre, source.meter.read(after), faults));
    }
    if enters == CableEnd::A {
        return points;
    }
    let length = run.cable.length_m;
    let mut faults: Vec<Vec<usize>> = points.iter().map(|point| point.2.clone()).collect();
    faults.reverse();
    faults.rotate_right(1);
    let reversed = points.into_iter().rev().zip(faults);
    reversed.map(|((metre, reading, _), faults)| (length - metre, reading, faults)).collect()
}

/// Fractions from end a at which a cable is wrong, with the numbers of the faults.
fn stations(marks: &Marks, cable: &str) -> Vec<(f64, Vec<usize>)> {
    let mut stations: Vec<(f64, Vec<usize>)> = Vec::new();
    for mark in marks.by_cable.get(cable).into_iter().flatten() {
        match stations.last_mut() {
            Some((fraction, numbers)) if fraction.total_cmp(&mark.at_fraction).is_eq() => {
                numbers.push(mark.mark.number);
            }
            _ => stations.push((mark.at_fraction, vec![mark.mark.number])),
        }
    }
    stations
}

/// A course in a sentence.
fn in_words(course: &Course, source: &Source<'_>) -> String {
    let ends = course.samples.iter().filter_map(Sample::volt);
    let ends: Vec<f64> = ends.collect();
    let figure = |volt: &f64| crate::report::figure::volts(*volt);
    match (ends.first(), ends.last()) {
        (Some(first), Some(last)) => {
            let length = course.samples.last().map_or(0.0, |sample| sample.metre);
            let length = crate::report::figure::length(length, source.circuit.parts().vocabulary);
            let name = &course.name;
            format!("{name}: from {} V to {} V over {length}.", figure(first), figure(last))
        }
        _ => format!("{}: no potential to earth.", course.name),
    }
}
