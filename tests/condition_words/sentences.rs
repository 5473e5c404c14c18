//! What each sentence does.

use slotwise::circuit::{CableEnd, Circuit};
use slotwise::condition::words::{Edit, SOLID_BRIDGE_OHM, parse};
use slotwise::condition::{
    AttachedLaw, Attachment, Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition,
};
use slotwise::netlist::wire;
use slotwise::quantity::Phasor;

use super::studio::{studio, studio_iec};

/// The sentence is exactly these edits, and a circuit can be wired so.
#[track_caller]
fn says(text: &str, expected: &[Edit]) {
    says_in(&studio(), text, expected);
}

#[track_caller]
fn says_in(circuit: &Circuit, text: &str, expected: &[Edit]) {
    let edits = parse(circuit, text).unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(|p| p.render(text)).collect::<Vec<_>>().join("\n"))
    });
    assert_eq!(edits, expected, "{text}");
    let mut condition = Condition::default();
    condition.say(circuit, text).unwrap();
    wire(circuit, &condition).unwrap();
}

/// Every one of the sentences is the same edits.
#[track_caller]
fn all_say(texts: &[&str], expected: &[Edit]) {
    for text in texts {
        says(text, expected);
    }
}

fn open(element: &str) -> Edit {
    Edit::Fault(Fault::Open { element: element.into(), gap: Gap::NONE })
}

fn resistance(element: &str, resistance_ohm: f64) -> Edit {
    Edit::Fault(Fault::Resistance { element: element.into(), resistance_ohm })
}

fn at_end(cable: &str, end: CableEnd, first: &str, second: &str) -> Edit {
    Edit::Fault(Fault::ExchangedAtCableEnd {
        end: EndOfCable { cable: cable.into(), end },
        conductors: (first.into(), second.into()),
    })
}

fn joints(first: &str, second: &str) -> Edit {
    Edit::Fault(Fault::ExchangedJoints { elements: (first.into(), second.into()) })
}

fn bridge(id: &str, a: &str, b: &str, resistance_ohm: f64) -> Edit {
    let between = (a.into(), b.into());
    Edit::Fault(Fault::Bridge { id: id.into(), between, resistance_ohm })
}

fn bus(circuit: &str, bus: &str) -> Edit {
    Edit::Fault(Fault::WrongBus { circuit: circuit.into(), bus: bus.into() })
}

fn landing(cable: &str, end: CableEnd, conductor: &str, to: &str) -> Edit {
    Edit::Fault(Fault::WrongLanding {
        end: EndOfCable { cable: cable.into(), end },
        conductor: conductor.into(),
        to: to.into(),
    })
}

fn broken(cable: &str, conductor: &str, at_fraction: f64) -> Edit {
    Edit::Fault(Fault::Broken {
        cable: cable.into(),
        conductor: conductor.into(),
        at_fraction,
        gap: Gap::NONE,
    })
}

fn touching(cable: &str, pair: (&str, &str), at_fraction: f64, resistance_ohm: f64) -> Edit {
    Edit::Fault(Fault::ContactInCable {
        cable: cable.into(),
        conductors: (pair.0.into(), pair.1.into()),
        at_fraction,
        resistance_ohm,
    })
}

fn tab(conductor: &str, intact: bool) -> Edit {
    Edit::Fault(Fault::Tab { device: "dup".into(), conductor: conductor.into(), intact })
}

fn volts(winding: &str, re: f64) -> Edit {
    let emf_volt = Phasor::new(re, 0.0);
    Edit::Fault(Fault::SupplyVoltage { winding: winding.into(), emf_volt })
}

fn breaker(name: &str, closed: bool) -> Edit {
    Edit::Breaker { name: name.into(), closed }
}

fn switch(name: &str, position: SwitchPosition) -> Edit {
    Edit::Switch { name: name.into(), position }
}

fn load(name: &str, state: LoadState) -> Edit {
    Edit::Load { name: name.into(), state }
}

#[test]
fn an_open_joint_is_told_by_side_and_box() {
    all_say(
        &[
            "neutral open at kiln, line side",
            "Neutral OPEN at Kiln line side",
            "open neutral at kiln, line side",
            "the neutral is open on the line side of kiln.",
            "kiln neutral open, line-side",
            "neutral lost at kiln, upstream",
            "N open at kiln, line side from door",
            "kiln's neutral disconnected, supply side",
            "kiln.line.neutral open",
            "contact:door-kiln.b.neutral open",
        ],
        &[open("contact:door-kiln.b.neutral")],
    );
}

#[test]
fn the_load_side_of_a_box_with_two_cables_says_to_where() {
    says("hot open at kiln, load side to sink", &[open("contact:kiln-sink.a.hot")]);
    says("live open at kiln, downstream to wheel", &[open("contact:kiln-wheel.a.hot")]);
}

#[test]
fn pigtail_screw_splice_and_strap_are_joints_of_their_own() {
    says("ground open at kiln pigtail", &[open("link:kiln.pigtail.ground")]);
    says("neutral open at kiln, screw", &[open("link:kiln.screw.neutral")]);
    says("hot open at door, line side splice", &[open("contact:c1-door.b.hot")]);
    says("neutral strap open at wheel", &[open("link:wheel.strap.neutral")]);
    says("neutral strap broken at wheel", &[open("link:wheel.strap.neutral")]);
}

#[test]
fn a_box_with_one_joint_of_a_conductor_needs_no_side() {
    says("neutral open at sink", &[open("contact:kiln-sink.b.neutral")]);
}

#[test]
fn a_gap_may_leak() {
    says(
        "neutral open at kiln, line side, 200 kohm across the gap",
        &[Edit::Fault(Fault::Open {
            element: "contact:door-kiln.b.neutral".into(),
            gap: Gap { resistance_ohm: Some(200_000.0), capacitance_farad: None },
        })],
    );
    says(
        "hot open at sink, 2 Mohm and 10 pF across the gap",
        &[Edit::Fault(Fault::Open {
            element: "contact:kiln-sink.b.hot".into(),
            gap: Gap { resistance_ohm: Some(2e6), capacitance_farad: Some(10e-12) },
        })],
    );
}

#[test]
fn a_bad_joint_has_its_ohms() {
    says("hot 0.4 ohm at wheel, load side", &[resistance("contact:wheel-dup.a.hot", 0.4)]);
    all_say(
        &[
            "neutral 50 mohm at kiln, pigtail",
            "neutral 50mΩ at kiln pigtail",
            "neutral 0.05 ohms at kiln, pigtail",
        ],
        &[resistance("link:kiln.pigtail.neutral", 0.05)],
    );
    says("ground 1.5 MΩ at sink", &[resistance("contact:kiln-sink.b.ground", 1.5e6)]);
}

#[test]
fn a_joint_may_glow() {
    let glowing = Edit::Fault(Fault::Glowing { element: "contact:door-kiln.b.hot".into() });
    all_say(
        &["joint glowing at kiln, line side, hot", "hot glowing at kiln, line side"],
        &[glowing],
    );
}

#[test]
fn several_conductors_of_one_place_are_said_together() {
    says(
        "neutral and ground open at kiln, line side",
        &[open("contact:door-kiln.b.neutral"), open("contact:door-kiln.b.ground")],
    );
}

#[test]
fn a_conductor_breaks_inside_a_cable() {
    all_say(
        &[
            "neutral broken in cable door-kiln, halfway",
            "neutral broken in door-kiln",
            "neutral cut between door and kiln",
            "cable door-kiln: neutral open at 50 %",
        ],
        &[broken("door-kiln", "neutral", 0.5)],
    );
    says("hot broken in cable kiln-wheel at 30 %", &[broken("kiln-wheel", "hot", 0.3)]);
    says("switched broken in cable hall-vent, at 7%", &[broken("hall-vent", "switched", 0.07)]);
    says(
        "hot 0.2 ohm in cable door-kiln, at 25 %",
        &[Edit::Fault(Fault::ResistanceInCable {
            cable: "door-kiln".into(),
            conductor: "hot".into(),
            at_fraction: 0.25,
            resistance_ohm: 0.2,
        })],
    );
}

#[test]
fn conductors_touch_inside_a_cable() {
    let damp = touching("door-kiln", ("hot", "ground"), 0.3, 50e3);
    all_say(
        &[
            "hot touching ground in cable door-kiln at 30 %, through 50 kohm",
            "cable door-kiln nicked at 30 %: hot touches ground through 50 kohm",
            "hot nicked in cable door-kiln at 30 %, touching ground, 50 kohm",
            "moisture in cable door-kiln at 30 % between hot and ground, 50 kohm",
        ],
        &[damp],
    );
    says(
        "hot and soil touching in cable door-kiln",
        &[touching("door-kiln", ("hot", "earth"), 0.5, SOLID_BRIDGE_OHM)],
    );
}

#[test]
fn an_exchange_at_the_device_spares_what_lies_past_it() {
    says(
        "hot and neutral exchanged at kiln",
        &[joints("link:kiln.screw.hot", "link:kiln.screw.neutral")],
    );
    all_say(
        &["hot and neutral swapped at wheel", "polarity reversed at wheel"],
        &[
            at_end("kiln-wheel", CableEnd::B, "hot", "neutral"),
            at_end("wheel-dup", CableEnd::A, "hot", "neutral"),
        ],
    );
    says("polarity reversed at sink", &[at_end("kiln-sink", CableEnd::B, "hot", "neutral")]);
    says(
        "hot and neutral exchanged at lamp",
        &[joints("link:lamp.plug.hot", "link:lamp.plug.neutral")],
    );
}

#[test]
fn an_exchange_at_a_cable_end_goes_on_past_it() {
    all_say(
        &[
            "hot and neutral exchanged at kiln, line side",
            "hot and neutral reversed in cable door-kiln, end b",
            "hot and neutral crossed in cable door-kiln, far end",
        ],
        &[at_end("door-kiln", CableEnd::B, "hot", "neutral")],
    );
    says(
        "neutral and ground exchanged at kiln, load side to sink",
        &[at_end("kiln-sink", CableEnd::A, "neutral", "ground")],
    );
}

#[test]
fn circuits_are_crossed() {
    says(
        "neutrals of c1 and c2 exchanged",
        &[joints("contact:c1-door.a.neutral", "contact:c2-gf1.a.neutral")],
    );
    says("hots of c1 and c2 exchanged", &[joints("contact:c1-door.a.hot", "contact:c2-gf1.a.hot")]);
    says("legs of c1 and c2 exchanged", &[bus("c1", "panel.L2"), bus("c2", "panel.L1")]);
    says(
        "kiln.pigtail.hot and sink.line.hot exchanged",
        &[joints("link:kiln.pigtail.hot", "contact:kiln-sink.b.hot")],
    );
}

#[test]
fn a_breaker_sits_on_the_wrong_leg() {
    all_say(
        &["c1 on L2", "c1 on leg L2", "breaker c1 on bus panel.L2", "circuit c1 on l2"],
        &[bus("c1", "panel.L2")],
    );
}

#[test]
fn a_wire_lands_on_the_wrong_terminal() {
    let to_c2 = landing("c1-door", CableEnd::A, "hot", "c2.hot");
    all_say(
        &[
            "hot of cable c1-door, end a, landed on c2.hot",
            "hot of cable c1-door landed on c2, end a",
            "hot of c1 landed on c2",
        ],
        &[to_c2],
    );
    all_say(
        &[
            "neutral of c1 landed on panel.ground",
            "c1 neutral landed on the ground bar at panel, load side to door",
        ],
        &[landing("c1-door", CableEnd::A, "neutral", "panel.ground")],
    );
    says(
        "ground landed on sink.neutral at sink, line side",
        &[landing("kiln-sink", CableEnd::B, "ground", "sink.neutral")],
    );
}

#[test]
fn a_bootleg_ground_is_neutral_and_ground_bridged_at_the_device() {
    let bootleg = bridge("kiln.neutral-ground", "kiln.neutral", "kiln.ground", SOLID_BRIDGE_OHM);
    all_say(
        &[
            "bootleg ground at kiln",
            "neutral and ground bridged at kiln",
            "neutral touching ground at kiln",
            "neutral in contact with ground at kiln",
            "neutral and ground contact at kiln",
            "kiln.neutral and kiln.ground jumpered together",
        ],
        &[bootleg],
    );
    says(
        "bootleg ground at dup",
        &[bridge("dup.top.neutral-dup.ground", "dup.top.neutral", "dup.ground", SOLID_BRIDGE_OHM)],
    );
}

#[test]
fn terminals_are_bridged_through_a_resistance() {
    all_say(
        &[
            "neutral and ground bridged at kiln through 300 ohm",
            "300 Ω between neutral and ground at kiln",
            "kiln.neutral and kiln.ground connected via 0.3 kohm",
        ],
        &[bridge("kiln.neutral-ground", "kiln.neutral", "kiln.ground", 300.0)],
    );
    all_say(
        &["moisture between hot and ground at desk, 50 kohm", "hot and ground wet at desk, 50k"],
        &[bridge("desk.hot-ground", "desk.hot", "desk.ground", 50e3)],
    );
    says(
        "hot of kiln and neutral of sink bridged through 1 ohm",
        &[bridge("kiln.hot-sink.neutral", "kiln.hot", "sink.neutral", 1.0)],
    );
    says(
        "hot at desk touching soil through 40 ohm, called stake",
        &[bridge("stake", "desk.hot", "earth", 40.0)],
    );
}

#[test]
fn neutrals_are_tied_or_borrowed() {
    let tie = bridge("desk.neutral-sink.neutral", "desk.neutral", "sink.neutral", SOLID_BRIDGE_OHM);
    says("neutrals of desk and sink tied", std::slice::from_ref(&tie));
    all_say(
        &["desk borrows neutral from sink", "neutral of desk borrowed from sink"],
        &[open("contact:gf1-desk.b.neutral"), tie],
    );
}

#[test]
fn insulation_breaks_down_in_an_appliance() {
    all_say(
        &[
            "insulation breakdown in heater, hot to frame, 500 ohm",
            "hot touching frame in heater through 500 ohm",
            "heater hot touching the case through 500 ohm",
        ],
        &[bridge("heater.hot-frame", "heater.hot", "heater.frame", 500.0)],
    );
}

#[test]
fn a_ground_pin_is_of_a_plug_or_of_a_device() {
    all_say(
        &["ground pin not connected at heater", "ground pin of heater missing"],
        &[open("link:heater.plug.ground")],
    );
    says("ground pin not connected at kiln", &[open("link:kiln.screw.ground")]);
    says("earth pin not connected at sink", &[open("contact:kiln-sink.b.ground")]);
    says("neutral open at lamp, plug", &[open("link:lamp.plug.neutral")]);
}

#[test]
fn the_service_can_lose_its_parts() {
    says("service neutral lost", &[open("service:neutral")]);
    says("service neutral 0.5 ohm", &[resistance("service:neutral", 0.5)]);
    all_say(&["leg L2 lost", "service L2 open"], &[open("service:L2")]);
    all_say(
        &["main bond missing", "bond main lost", "main bonding jumper missing"],
        &[open("bond:main")],
    );
    all_say(
        &["electrode lost", "ground rod lost", "panel electrode lost"],
        &[open("electrode:panel")],
    );
    says("electrode transformer lost", &[open("electrode:transformer")]);
    says("electrode 250 ohm", &[resistance("electrode:panel", 250.0)]);
}

#[test]
fn the_supply_is_off_nominal() {
    all_say(
        &["supply 108 V", "supply at 90 %", "supply at 90%"],
        &[volts("L1", 108.0), volts("L2", -108.0)],
    );
    says("winding L1 at 132 V", &[volts("L1", 132.0)]);
}

#[test]
fn joints_of_the_panel_belong_to_their_circuits() {
    all_say(
        &["stab of breaker c1 open", "hot open at c1, breaker", "c1.breaker open"],
        &[open("breaker:c1")],
    );
    says("breaker c1 0.2 ohm", &[resistance("breaker:c1", 0.2)]);
    all_say(
        &["neutral open at c1, bar", "neutral open at panel, load side to door"],
        &[open("contact:c1-door.a.neutral")],
    );
}

#[test]
fn a_tab_is_broken_out_or_left_in() {
    all_say(
        &["strap broken at dup", "hot tab broken out at dup", "hot tab broken at dup"],
        &[tab("hot", false)],
    );
    says("neutral tab left in at dup", &[tab("neutral", true)]);
    says("strap left in at dup", &[tab("hot", true)]);
}

#[test]
fn line_and_load_of_a_ground_fault_device_are_exchanged() {
    all_say(
        &["line and load exchanged at gf1", "load and line sides swapped at gf1"],
        &[Edit::Fault(Fault::LineLoadExchanged { device: "gf1".into() })],
    );
}

#[test]
fn breakers_and_devices_trip_and_are_reset() {
    all_say(&["breaker c1 off", "c1 off", "circuit breaker c1 tripped"], &[breaker("c1", false)]);
    says("breaker c1 on", &[breaker("c1", true)]);
    says("gf1 tripped", &[breaker("gf1", false)]);
    says("gf1 reset", &[breaker("gf1", true)]);
    says("c1 and c2 off", &[breaker("c1", false), breaker("c2", false)]);
}

#[test]
fn switches_stand_in_their_positions() {
    all_say(
        &["switch hall closed", "hall on", "hall up"],
        &[switch("hall", SwitchPosition::Closed)],
    );
    all_say(&["switch hall open", "hall down"], &[switch("hall", SwitchPosition::Open)]);
    all_say(
        &["switch foot position 2", "foot down", "switch foot two"],
        &[switch("foot", SwitchPosition::Two)],
    );
    says("switch middle crossed", &[switch("middle", SwitchPosition::Crossed)]);
    says("middle straight", &[switch("middle", SwitchPosition::Straight)]);
}

#[test]
fn loads_are_on_off_unplugged_or_stalled() {
    all_say(
        &["heater on", "heater switched on", "heater plugged in", "heater plugged in and on"],
        &[load("heater", LoadState::On)],
    );
    all_say(&["heater off", "load heater turned off"], &[load("heater", LoadState::Off)]);
    says("lamp unplugged", &[load("lamp", LoadState::Unplugged)]);
    says("drill stalled", &[load("drill", LoadState::Stalled)]);
}

#[test]
fn all_loads_give_way_to_one_that_is_named() {
    let unplugged = |name| load(name, LoadState::Unplugged);
    let rest =
        [load("fan", LoadState::Off), unplugged("lamp"), unplugged("drill"), unplugged("radio")];
    let heater = load("heater", LoadState::On);
    let after: Vec<Edit> = rest.iter().cloned().chain([heater.clone()]).collect();
    says("everything unplugged; heater on", &after);
    let before: Vec<Edit> = [heater].into_iter().chain(rest).collect();
    says("heater on; all loads unplugged", &before);
}

#[test]
fn the_loads_of_one_circuit_are_spoken_of_together_and_give_way_to_one_that_is_named() {
    let on_c1 = |state| ["lamp", "heater", "drill"].map(|name| load(name, state));
    for written in [
        "everything on c1 unplugged",
        "all loads of the c1 circuit unplugged",
        "everything fed by breaker c1 unplugged",
    ] {
        says(written, &on_c1(LoadState::Unplugged));
    }
    let rest = ["lamp", "drill"].map(|name| load(name, LoadState::Off));
    let heater = load("heater", LoadState::On);
    says("everything on c1 off; heater on", &[&rest[..], &[heater]].concat());
    let others = [load("fan", LoadState::Off), load("radio", LoadState::Off)];
    says("everything off; everything on c1 on", &[&others[..], &on_c1(LoadState::On)].concat());
    let nothing = parse(&studio(), "everything on c4 off").unwrap_err();
    assert_eq!(nothing[0].message, "`c4` has no loads");
}

#[test]
fn several_sentences_are_parted_by_semicolons_or_lines() {
    says(
        "neutral open at sink; heater on;\nbreaker c2 off",
        &[open("contact:kiln-sink.b.neutral"), load("heater", LoadState::On), breaker("c2", false)],
    );
    says("", &[]);
    says(" ; ; ", &[]);
}

#[test]
fn a_thing_said_twice_is_said_once() {
    says(
        "heater on; heater on; lamp off",
        &[load("heater", LoadState::On), load("lamp", LoadState::Off)],
    );
}

#[test]
fn a_later_call_sets_anew_what_an_earlier_one_set() {
    let circuit = studio();
    let mut condition = Condition::default();
    condition.say(&circuit, "heater on; breaker c1 off").unwrap();
    condition.say(&circuit, "heater off").unwrap();
    assert_eq!(condition.loads["heater"], LoadState::Off);
    assert!(!condition.breakers["c1"]);
}

#[test]
fn plain_elements_are_attached() {
    let between = ("kiln.hot".into(), "kiln.ground".into());
    says(
        "15 kohm attached between hot and ground at kiln, called button",
        &[Edit::Attach(Attachment {
            id: "button".into(),
            between,
            law: AttachedLaw::ResistanceOhm(15e3),
        })],
    );
}

#[test]
fn the_iec_words_are_the_same_wiring() {
    let circuit = studio_iec();
    says_in(&circuit, "line open at kiln, supply side", &[open("contact:door-kiln.b.hot")]);
    says_in(&circuit, "earth open at kiln, pigtail", &[open("link:kiln.pigtail.ground")]);
    says_in(&circuit, "PE open at sink", &[open("contact:kiln-sink.b.ground")]);
    says_in(
        &circuit,
        "neutral and earth bridged at kiln through 1 ohm",
        &[bridge("kiln.neutral-ground", "kiln.neutral", "kiln.ground", 1.0)],
    );
    says_in(&circuit, "hall down", &[switch("hall", SwitchPosition::Closed)]);
}

#[test]
fn the_imperative_and_other_ways_of_the_trade_are_heard() {
    says("turn off breaker c1", &[breaker("c1", false)]);
    says("switch on the heater", &[load("heater", LoadState::On)]);
    says("unplug the lamp", &[load("lamp", LoadState::Unplugged)]);
    says("plug in the lamp", &[load("lamp", LoadState::On)]);
    says("trip gf1", &[breaker("gf1", false)]);
    says("kiln receptacle: neutral open, line side", &[open("contact:door-kiln.b.neutral")]);
    says(
        "0.4 ohm on neutral at kiln, line side",
        &[resistance("contact:door-kiln.b.neutral", 0.4)],
    );
    says("hot/neutral reversed at sink", &[at_end("kiln-sink", CableEnd::B, "hot", "neutral")]);
    says("tab removed at dup", &[tab("hot", false)]);
    says("lost service neutral", &[open("service:neutral")]);
    all_say(
        &["short between hot and ground at desk", "hot shorted to ground at desk"],
        &[bridge("desk.hot-ground", "desk.hot", "desk.ground", SOLID_BRIDGE_OHM)],
    );
    says(
        "hot leaking to ground at desk, 20 kohm",
        &[bridge("desk.hot-ground", "desk.hot", "desk.ground", 20e3)],
    );
}
