//! The page: whole in itself, in order, and readable by those who listen.

use slotwise::circuit::file;
use slotwise::condition::{self, Condition};

use crate::studio::{call_outs, circuit, say, scene};

const BAKERY: &str = include_str!("../../circuits/bakery.ron");
const XHTML_VOID: [&str; 1] = ["meta"];

/// The page read by an XML reader, its void elements closed first: every other element must be
/// closed by itself.
fn as_xml(page: &str) -> String {
    let mut page = page.trim_start_matches("<!DOCTYPE html>").to_owned();
    for name in XHTML_VOID {
        let mut closed = String::new();
        let mut rest = page.as_str();
        while let Some(at) = rest.find(&format!("<{name} ")) {
            let end = at + rest[at..].find('>').unwrap();
            closed += &rest[..end];
            closed += "/>";
            rest = &rest[end + 1..];
        }
        page = closed + rest;
    }
    page
}

fn lost_neutral() -> String {
    let circuit = circuit(BAKERY);
    let condition = say(&circuit, &["neutral open at counter, line side"]);
    scene(&circuit, &condition).page()
}

#[test]
fn the_page_of_every_call_out_and_condition_is_well_formed() {
    for path in call_outs() {
        let text = std::fs::read_to_string(&path).unwrap();
        let read = file::read(&text).unwrap();
        for named in condition::file::of_circuit(&read, &text).unwrap() {
            let page = as_xml(&scene(&read.circuit, &named.condition).page());
            let parsed = roxmltree::Document::parse(&page);
            assert!(parsed.is_ok(), "{} {}: {parsed:?}", path.display(), named.name);
        }
    }
}

#[test]
fn hazards_come_before_everything_and_the_caution_is_there_once() {
    let page = lost_neutral();
    let place = |what: &str| page.find(what).unwrap_or_else(|| panic!("no {what}"));
    let order = [
        "<h2>Hazards</h2>",
        "DANGER",
        "A model proves nothing dead",
        "<h2>Different from the circuit as installed</h2>",
        "<h2>Run</h2>",
        "<h2>Profile",
        "<h2>Receptacle readings</h2>",
        "<h2>Loads</h2>",
        "<h2>Breakers</h2>",
    ];
    for pair in order.windows(2) {
        assert!(place(pair[0]) < place(pair[1]), "{} after {}", pair[0], pair[1]);
    }
    assert_eq!(page.matches("A model proves nothing dead").count(), 1);
}

#[test]
fn the_page_needs_no_network_and_runs_no_script() {
    let page = lost_neutral();
    let schema = "http://www.w3.org/2000/svg";
    assert!(!page.replace(schema, "").contains("http"), "something is fetched");
    for tag in ["<script", "<link", "<img", "<iframe", "@import", "url(", " onload", " src="] {
        assert!(!page.contains(tag), "{tag}");
    }
}

#[test]
fn those_who_listen_hear_headings_in_order_table_headers_and_the_pictures_in_words() {
    let page = as_xml(&lost_neutral());
    let document = roxmltree::Document::parse(&page).unwrap();
    let all = |name: &str| -> Vec<roxmltree::Node<'_, '_>> {
        document.descendants().filter(|node| node.tag_name().name() == name).collect()
    };
    assert_eq!(all("html")[0].attribute("lang"), Some("en"));
    assert_eq!(all("h1").len(), 1);
    assert!(all("h3").is_empty() && all("h2").len() >= 7);
    let headers = all("th");
    assert!(!headers.is_empty());
    assert!(headers.iter().all(|th| matches!(th.attribute("scope"), Some("col" | "row"))));
    for table in all("table") {
        assert!(table.children().any(|node| node.has_tag_name("caption")));
        for row in table.descendants().filter(|node| node.tag_name().name() == "tr") {
            assert!(row.first_element_child().unwrap().has_tag_name("th"));
        }
    }
    let (spoken, silent): (Vec<_>, Vec<_>) =
        all("svg").into_iter().partition(|svg| svg.attribute("role") == Some("img"));
    assert_eq!(spoken.len(), 3, "run, profile and legend");
    assert!(silent.iter().all(|svg| svg.attribute("aria-hidden") == Some("true")));
    for svg in spoken {
        for id in svg.attribute("aria-labelledby").unwrap().split(' ') {
            let named = svg.descendants().find(|node| node.attribute("id") == Some(id));
            assert!(named.unwrap().text().is_some_and(|text| text.len() > 5), "{id}");
        }
    }
    let ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
    let mut unique = ids.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), ids.len(), "two things have one name");
}

#[test]
fn the_table_says_what_the_report_says() {
    let circuit = circuit(BAKERY);
    let condition = say(&circuit, &["neutral open at counter, line side"]);
    let scene = scene(&circuit, &condition);
    let page = scene.page();
    for load in &scene.report().loads {
        let figure = slotwise::report::figure::volts(load.voltage_volt.unwrap().rms);
        let row = page.find(&format!(r#"<th scope="row">{}</th>"#, load.load)).unwrap();
        let end = row + page[row..].find("</tr>").unwrap();
        assert!(page[row..end].contains(&format!(">{figure}<")), "{} {figure}", load.load);
    }
}

#[test]
fn what_tripped_is_said_and_drawn_as_open() {
    let circuit = circuit(include_str!("../../circuits/pottery-studio.ron"));
    let condition = say(&circuit, &["hot and ground bridged at kiln"]);
    let page = scene(&circuit, &condition).page();
    assert!(page.contains("The breaker c1 trips"));
    assert!(page.contains("c1 20\u{a0}A, OFF"));
}

#[test]
fn a_hostile_name_stays_text() {
    let hostile = BAKERY.replace("\"Bakery\"", r#""</h1><script>alert('x')</script>""#);
    assert_ne!(hostile, BAKERY);
    let circuit = circuit(&hostile);
    let page = scene(&circuit, &Condition::default()).page();
    assert!(!page.contains("<script"));
    assert!(roxmltree::Document::parse(&as_xml(&page)).is_ok());
}
