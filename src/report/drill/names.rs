//! What a person calls the things that the circuit file has an address for.

use crate::circuit::{Circuit, DeviceKind, Vocabulary};
use crate::diagnosis::Complaint;

use super::call;

/// A receptacle as a person says it: one of two halves with a comma.
///
/// ```
/// use slotwise::report::drill::place_in_words;
/// assert_eq!(place_in_words("nursery.top"), "nursery, top");
/// assert_eq!(place_in_words("box-room"), "box-room");
/// ```
pub fn place_in_words(address: &str) -> String {
    match half(address) {
        Some((place, half)) => format!("{place}, {half}"),
        None => address.to_owned(),
    }
}

fn half(address: &str) -> Option<(&str, &str)> {
    address.rsplit_once('.').filter(|(_, last)| matches!(*last, "top" | "bottom"))
}

/// What a customer says of this circuit, without an address in it.
pub(super) fn say(circuit: &Circuit, complaint: &Complaint) -> String {
    let vocabulary = circuit.parts().vocabulary;
    let mut named = complaint.clone();
    let (breaker, places): (Option<&mut String>, Vec<&mut String>) = match &mut named {
        Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker } => {
            (Some(breaker), Vec::new())
        }
        Complaint::DeadFrom { place }
        | Complaint::HalfDead { place }
        | Complaint::Warm { place }
        | Complaint::WorkedOn { place } => (None, vec![place]),
        Complaint::Dead { places } | Complaint::Works { places } => {
            (None, places.iter_mut().collect())
        }
        Complaint::Dim { places, .. } | Complaint::Bright { places, .. } => {
            (None, places.iter_mut().collect())
        }
        _ => (None, Vec::new()),
    };
    for place in places {
        if let Some((of, half)) = half(place) {
            *place = format!("the {half} half of {of}");
        }
    }
    let device = breaker.as_ref().and_then(|name| device_in_words(circuit, name));
    if let (Some(breaker), None) = (&breaker, &device) {
        let pole = breaker.rsplit_once(".pole").map(|(circuit, _)| circuit.to_owned());
        return call::say(&renamed(&named, pole), vocabulary);
    }
    let Some(device) = device else { return call::say(&named, vocabulary) };
    // A device in a box has a button and no handle.
    let said = match &named {
        Complaint::WontReset { .. } => format!("{device} cannot be reset."),
        _ => call::say(&renamed(&named, Some(device)), vocabulary)
            .replace("as soon as I switch it on", "as soon as I reset it"),
    };
    capitalised(&said)
}

/// The same of a breaker of another name.
fn renamed(complaint: &Complaint, name: Option<String>) -> Complaint {
    let mut renamed = complaint.clone();
    if let (Complaint::Trips { breaker, .. } | Complaint::WontReset { breaker }, Some(name)) =
        (&mut renamed, name)
    {
        *breaker = name;
    }
    renamed
}

fn capitalised(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

/// A protective device by what it is and where.
fn device_in_words(circuit: &Circuit, name: &str) -> Option<String> {
    let device = circuit.device(name)?;
    if !matches!(device.kind, DeviceKind::Protective { .. }) {
        return None;
    }
    let mut places = circuit.parts().places.iter();
    let place = places.find(|place| place.devices.iter().any(|one| one == name))?;
    let what = match circuit.parts().vocabulary {
        Vocabulary::NorthAmerican => "ground-fault receptacle",
        Vocabulary::Iec => "residual-current device",
    };
    Some(format!("the {what} at {}", place.id))
}

#[cfg(test)]
mod tests {
    use crate::diagnosis::WhenItTrips;

    use super::*;

    fn cottage() -> Circuit {
        let text = r#"(format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "box-room", from: "c1", feet: 30,
                 device: GroundFault(feeds: true)),
                (id: "hall", from: "box-room", feet: 12),
            ],
        )"#;
        crate::circuit::file::read(text).map(|file| file.circuit).unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn a_customer_calls_a_device_by_what_it_is_and_where() {
        let circuit = cottage();
        let name = circuit.parts().devices.iter().find_map(|device| {
            matches!(device.kind, DeviceKind::Protective { .. }).then(|| device.id.clone())
        });
        let breaker = name.unwrap_or_default();
        let trips = |when| say(&circuit, &Complaint::Trips { breaker: breaker.clone(), when });
        assert_eq!(
            trips(WhenItTrips::AtOnce),
            "The ground-fault receptacle at box-room trips as soon as I reset it."
        );
        let wont = Complaint::WontReset { breaker: breaker.clone() };
        assert_eq!(
            say(&circuit, &wont),
            "The ground-fault receptacle at box-room cannot be reset."
        );
    }

    #[test]
    fn a_breaker_of_two_poles_and_half_a_duplex_are_called_as_one_speaks() {
        let circuit = cottage();
        let breaker = "c1.pole2".to_owned();
        let trips = Complaint::Trips { breaker, when: WhenItTrips::NowAndThen };
        assert_eq!(say(&circuit, &trips), "c1 trips now and then.");
        let half = Complaint::Dead { places: vec!["hall.top".into(), "hall".into()] };
        assert_eq!(
            say(&circuit, &half),
            "Nothing works any more at the top half of hall and hall."
        );
    }
}
