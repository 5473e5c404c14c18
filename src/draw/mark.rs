//! What is wrong, with the element or the stretch of cable where it is to be marked.

use std::collections::HashMap;

use crate::circuit::Circuit;
use crate::circuit::connection::{
    breaker_element, contact_element, switch_contacts, tab_element, winding_element,
};
use crate::condition::words::describe;
use crate::condition::{Condition, Fault};
use crate::quantity::Address;

use super::glyph;
use super::pen::{Ink, Pattern, Type};
use super::sheet::{Point, Sheet, at};

/// The sign of a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    Open,
    BadJoint,
    Exchanged,
    /// Not where or what it should be.
    Misplaced,
    Bridge,
}

impl Sign {
    pub(super) const ALL: [Self; 5] =
        [Self::Open, Self::BadJoint, Self::Bridge, Self::Exchanged, Self::Misplaced];
}

/// A fault marked at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Mark {
    /// Its number in the list, from 1.
    pub(super) number: usize,
    pub(super) sign: Sign,
}

/// A fault on the length of a cable.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CableMark {
    pub(super) mark: Mark,
    pub(super) at_fraction: f64,
    /// The conductor, and the one it touches if it does; `earth` is one too.
    pub(super) conductor: String,
    pub(super) touches: Option<String>,
}

/// A bridge between two terminals.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BridgeMark {
    pub(super) mark: Mark,
    pub(super) between: (Address, Address),
}

/// Every fault of a condition with where it is to be marked.
#[derive(Debug, Default)]
pub(super) struct Marks {
    /// The faults in words, in the order of their numbers.
    pub(super) sentences: Vec<String>,
    pub(super) by_element: HashMap<String, Vec<Mark>>,
    pub(super) by_cable: HashMap<String, Vec<CableMark>>,
    pub(super) bridges: Vec<BridgeMark>,
}

impl Marks {
    pub(super) fn of(circuit: &Circuit, condition: &Condition) -> Self {
        let mut marks = Self::default();
        for (place, fault) in condition.faults.iter().enumerate() {
            marks.add(circuit, place + 1, fault);
            let alone = Condition { faults: vec![fault.clone()], ..Condition::default() };
            marks.sentences.push(describe(circuit, &alone).join("; "));
        }
        for marks in marks.by_cable.values_mut() {
            marks.sort_by(|one, other| one.at_fraction.total_cmp(&other.at_fraction));
        }
        marks
    }

    /// The marks of some elements, each number once.
    pub(super) fn on<'e>(&self, elements: impl IntoIterator<Item = &'e String>) -> Vec<Mark> {
        let mut marks: Vec<Mark> = Vec::new();
        for mark in elements.into_iter().filter_map(|e| self.by_element.get(e)).flatten() {
            if !marks.contains(mark) {
                marks.push(*mark);
            }
        }
        marks
    }

    fn add(&mut self, circuit: &Circuit, number: usize, fault: &Fault) {
        let mark = |sign| Mark { number, sign };
        let by_cable = &mut self.by_cable;
        let mut in_cable = |cable: &str, conductor: &str, at_fraction, sign| {
            let touches = None;
            let conductor = conductor.to_owned();
            let mark = CableMark { mark: mark(sign), at_fraction, conductor, touches };
            by_cable.entry(cable.to_owned()).or_default().push(mark);
        };
        match fault {
            Fault::Broken { cable, conductor, at_fraction, .. } => {
                in_cable(cable, conductor, *at_fraction, Sign::Open);
            }
            Fault::ResistanceInCable { cable, conductor, at_fraction, .. } => {
                in_cable(cable, conductor, *at_fraction, Sign::BadJoint);
            }
            Fault::ContactInCable { cable, conductors, at_fraction, .. } => {
                let (conductor, touches) = conductors.clone();
                self.by_cable.entry(cable.clone()).or_default().push(CableMark {
                    mark: mark(Sign::Bridge),
                    at_fraction: *at_fraction,
                    conductor,
                    touches: Some(touches),
                });
            }
            Fault::Bridge { between, .. } => {
                let between = between.clone();
                self.bridges.push(BridgeMark { mark: mark(Sign::Bridge), between });
            }
            fault => {
                for (element, sign) in elements(circuit, fault) {
                    match wire_of(circuit, &element) {
                        Some((cable, conductor)) => in_cable(cable, conductor, 0.5, sign),
                        None => self.by_element.entry(element).or_default().push(mark(sign)),
                    }
                }
            }
        }
    }
}

/// The cable and conductor of a wire named as an element; it is marked in the cable's middle.
fn wire_of<'c>(circuit: &'c Circuit, element: &str) -> Option<(&'c str, &'c str)> {
    let rest = element.strip_prefix("wire:")?;
    circuit.parts().cables.iter().find_map(|cable| {
        let conductor = rest.strip_prefix(cable.id.as_str())?.strip_prefix('.')?;
        let conductor = cable.conductors.iter().find(|c| c.name == conductor)?;
        Some((cable.id.as_str(), conductor.name.as_str()))
    })
}

/// The elements a fault is marked on.
fn elements(circuit: &Circuit, fault: &Fault) -> Vec<(String, Sign)> {
    match fault {
        Fault::Open { element, .. } => vec![(element.clone(), Sign::Open)],
        Fault::Resistance { element, .. } | Fault::Glowing { element } => {
            vec![(element.clone(), Sign::BadJoint)]
        }
        Fault::ExchangedAtCableEnd { end, conductors: (one, other) } => [one, other]
            .map(|conductor| contact_element(&end.cable, end.end, conductor))
            .map(|element| (element, Sign::Exchanged))
            .to_vec(),
        Fault::ExchangedJoints { elements: (one, other) } => {
            vec![(one.clone(), Sign::Exchanged), (other.clone(), Sign::Exchanged)]
        }
        Fault::WrongBus { circuit, .. } => vec![(breaker_element(circuit), Sign::Misplaced)],
        Fault::WrongLanding { end, conductor, .. } => {
            vec![(contact_element(&end.cable, end.end, conductor), Sign::Misplaced)]
        }
        Fault::LineLoadExchanged { device } => {
            let device = circuit.device(device);
            let contacts = device.map(switch_contacts).unwrap_or_default();
            contacts
                .into_iter()
                .map(|(name, ..)| (format!("switch:{name}"), Sign::Exchanged))
                .collect()
        }
        Fault::Tab { device, conductor, intact } => {
            let sign = if *intact { Sign::Misplaced } else { Sign::Open };
            vec![(tab_element(device, conductor), sign)]
        }
        Fault::SupplyVoltage { winding, .. } => {
            vec![(winding_element(winding), Sign::Misplaced)]
        }
        _ => Vec::new(),
    }
}

/// Half the size of a sign.
pub(super) const SIGN_RADIUS: f64 = 9.0;

/// Height of a badge.
const BADGE_HEIGHT: f64 = 16.0;

const BADGE_TYPE: Type = Type::bold(11.0).middle().ink(Ink::White);

/// Draws a sign over the conductor it sits on.
pub(super) fn sign(sheet: &mut Sheet, centre: Point, sign: Sign) {
    let p = |x: f64, y: f64| at(centre.x + x, centre.y + y);
    let mut stroke = |points: &[Point]| sheet.inked_line(points, Pattern::Stroke, Ink::Alarm);
    match sign {
        Sign::Open => {
            sheet.rounded(p(-7.0, -9.0), (14.0, 18.0), 0.0, (Ink::White, None));
            stroke_all(sheet, &[&[p(-6.0, -8.0), p(6.0, 8.0)], &[p(6.0, -8.0), p(-6.0, 8.0)]]);
        }
        Sign::BadJoint => {
            sheet.rounded(p(-9.0, -8.0), (18.0, 16.0), 0.0, (Ink::White, None));
            stroke_all(
                sheet,
                &[&[
                    p(-9.0, 0.0),
                    p(-6.0, -7.0),
                    p(-2.0, 7.0),
                    p(2.0, -7.0),
                    p(6.0, 7.0),
                    p(9.0, 0.0),
                ]],
            );
        }
        Sign::Exchanged => {
            sheet.rounded(p(-8.0, -9.0), (16.0, 18.0), 3.0, (Ink::White, Some(Pattern::Hair)));
            stroke_all(
                sheet,
                &[
                    &[p(-3.5, 7.0), p(-3.5, -6.0)],
                    &[p(-6.5, -3.0), p(-3.5, -6.5), p(-0.5, -3.0)],
                    &[p(3.5, -7.0), p(3.5, 6.0)],
                    &[p(0.5, 3.0), p(3.5, 6.5), p(6.5, 3.0)],
                ],
            );
        }
        Sign::Misplaced => {
            let diamond = [p(0.0, -9.0), p(9.0, 0.0), p(0.0, 9.0), p(-9.0, 0.0), p(0.0, -9.0)];
            sheet.area(&diamond, Ink::White);
            stroke_all(sheet, &[&diamond]);
        }
        Sign::Bridge => stroke(&[p(0.0, -8.0), p(0.0, 8.0)]),
    }
}

fn stroke_all(sheet: &mut Sheet, lines: &[&[Point]]) {
    for points in lines {
        sheet.inked_line(points, Pattern::Stroke, Ink::Alarm);
    }
}

/// A line between two conductors that touch, with a square on either.
pub(super) fn bridge(sheet: &mut Sheet, points: &[Point]) {
    sheet.inked_line(points, Pattern::Bridge, Ink::Alarm);
    for end in points.first().into_iter().chain(points.last()) {
        let corner = at(end.x - 4.0, end.y - 4.0);
        sheet.rounded(corner, (8.0, 8.0), 0.0, (Ink::Alarm, None));
    }
}

/// The words of a badge: the numbers of its faults, at most two of them.
fn badge_text(numbers: &[usize]) -> String {
    match numbers {
        [one, other] => format!("{one},{other}"),
        [one, _, _, ..] => format!("{one}…"),
        numbers => numbers.iter().map(ToString::to_string).collect(),
    }
}

/// The width of a badge.
pub(super) fn badge_width(numbers: &[usize]) -> f64 {
    BADGE_HEIGHT.max(glyph::width(&badge_text(numbers), BADGE_TYPE.size, BADGE_TYPE.weight) + 8.0)
}

/// The numbers of faults in white on black.
pub(super) fn badge(sheet: &mut Sheet, centre: Point, numbers: &[usize]) {
    if numbers.is_empty() {
        return;
    }
    let width = badge_width(numbers);
    let corner = at(centre.x - width / 2.0, centre.y - BADGE_HEIGHT / 2.0);
    sheet.rounded(corner, (width, BADGE_HEIGHT), BADGE_HEIGHT / 2.0, (Ink::Black, None));
    sheet.text(at(centre.x, centre.y + 4.0), BADGE_TYPE, &badge_text(numbers));
}

/// The numbers of marks, each once.
pub(super) fn numbers(marks: &[Mark]) -> Vec<usize> {
    let mut numbers: Vec<usize> = marks.iter().map(|mark| mark.number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}
