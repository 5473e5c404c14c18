//! What the tests share: circuits from files and text, and looking at a picture.

use std::fs;
use std::path::{Path, PathBuf};

use slotwise::circuit::{Circuit, file};
use slotwise::condition::Condition;
use slotwise::draw::{Picture, Scene};

/// What rounding in the sums of a layout may take away, CSS pixels.
const ROUNDING: f64 = 1e-6;

pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every circuit of `circuits/`.
pub(crate) fn call_outs() -> Vec<PathBuf> {
    let entries = fs::read_dir(root().join("circuits")).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|kind| kind == "ron"));
    paths.sort();
    paths
}

pub(crate) fn circuit(text: &str) -> Circuit {
    file::read(text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}")).circuit
}

pub(crate) fn say(circuit: &Circuit, sentences: &[&str]) -> Condition {
    let mut condition = Condition::default();
    for sentence in sentences {
        condition.say(circuit, sentence).unwrap_or_else(|p| panic!("{sentence}: {p:#?}"));
    }
    condition
}

pub(crate) fn scene<'c>(circuit: &'c Circuit, condition: &'c Condition) -> Scene<'c> {
    Scene::new(circuit, condition).unwrap_or_else(|error| panic!("{error}"))
}

/// No text covers another and none leaves the paper.
#[track_caller]
pub(crate) fn assert_legible(picture: &Picture, what: &str) {
    let (width, height) = picture.size();
    let texts = picture.texts();
    assert!(!texts.is_empty(), "{what}: nothing is said");
    for text in &texts {
        let inside = text.left >= -ROUNDING
            && text.top >= -ROUNDING
            && text.right <= width + ROUNDING
            && text.bottom <= height + ROUNDING;
        assert!(inside, "{what}: {text:?} leaves the paper of {width} by {height}");
    }
    for (number, text) in texts.iter().enumerate() {
        let over = texts[number + 1..].iter().find(|other| text.overlaps(other));
        assert!(over.is_none(), "{what}: {text:?} covers {over:?}");
    }
}

/// The texts of an SVG document, read back by an XML reader.
#[track_caller]
pub(crate) fn texts_of(svg: &str) -> Vec<String> {
    let document = roxmltree::Document::parse(svg).unwrap_or_else(|error| panic!("{error}"));
    let texts = document
        .descendants()
        .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")));
    texts.map(|node| node.text().unwrap_or_default().to_owned()).collect()
}
