//! The paper: texts, lines and shapes with their places, and their form as SVG.
//!
//! The unit is a CSS pixel; x runs to the right and y down. Nothing here knows a circuit.

use maud::{Markup, PreEscaped, html};

use super::glyph::{self, Weight};
use super::pen::{Anchor, Ink, Pattern, Type};

/// A place on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub(super) x: f64,
    pub(super) y: f64,
}

/// Shorthand for a [`Point`].
pub(super) const fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A text and the part of the paper it takes, in CSS pixels with y down.
///
/// ```
/// use slotwise::draw::TextBox;
/// let name = TextBox { text: "kiln".into(), left: 0.0, top: 0.0, right: 30.0, bottom: 14.0 };
/// let value = TextBox { text: "119.6 V".into(), left: 20.0, ..name.clone() };
/// assert!(name.overlaps(&value));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct TextBox {
    /// The text.
    pub text: String,
    /// Its left edge.
    pub left: f64,
    /// Its upper edge: the height of a capital with its accent above the baseline.
    pub top: f64,
    /// Its right edge.
    pub right: f64,
    /// Its lower edge: the depth of a `g` below the baseline.
    pub bottom: f64,
}

impl TextBox {
    /// Whether two texts cover a common part of the paper.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// One thing on the paper.
#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Text { text: String, place: Point, set: Type },
    Line { points: Vec<Point>, pattern: Pattern, ink: Ink },
    Area { points: Vec<Point>, fill: Ink },
    Rect { corner: Point, width: f64, height: f64, radius: f64, fill: Ink, edge: Option<Pattern> },
    Disc { centre: Point, radius: f64, fill: Ink, edge: bool },
}

/// A paper being drawn on. What is drawn later lies on top.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sheet {
    pub(super) width: f64,
    pub(super) height: f64,
    /// What it is, in a line.
    pub(super) title: String,
    /// What it shows, for those who cannot see it.
    pub(super) description: String,
    shapes: Vec<Shape>,
}

impl Sheet {
    /// A blank paper.
    pub(super) fn sized(width: f64, height: f64) -> Self {
        Self { width, height, ..Self::default() }
    }

    pub(super) fn text(&mut self, place: Point, set: Type, text: &str) {
        if !text.is_empty() {
            self.shapes.push(Shape::Text { text: text.to_owned(), place, set });
        }
    }

    /// Lines of text under one another, the first baseline at `place`.
    pub(super) fn lines<'t>(
        &mut self,
        place: Point,
        set: Type,
        lines: impl IntoIterator<Item = &'t String>,
    ) {
        for (number, line) in lines.into_iter().enumerate() {
            self.text(at(place.x, place.y + number as f64 * set.pitch()), set, line);
        }
    }

    pub(super) fn line(&mut self, points: &[Point], pattern: Pattern) {
        self.inked_line(points, pattern, Ink::Black);
    }

    pub(super) fn inked_line(&mut self, points: &[Point], pattern: Pattern, ink: Ink) {
        self.shapes.push(Shape::Line { points: points.to_vec(), pattern, ink });
    }

    pub(super) fn area(&mut self, points: &[Point], fill: Ink) {
        self.shapes.push(Shape::Area { points: points.to_vec(), fill });
    }

    pub(super) fn rect(&mut self, corner: Point, size: (f64, f64), fill: Ink, edge: Pattern) {
        self.rounded(corner, size, 0.0, (fill, Some(edge)));
    }

    pub(super) fn rounded(
        &mut self,
        corner: Point,
        (width, height): (f64, f64),
        radius: f64,
        (fill, edge): (Ink, Option<Pattern>),
    ) {
        self.shapes.push(Shape::Rect { corner, width, height, radius, fill, edge });
    }

    pub(super) fn disc(&mut self, centre: Point, radius: f64, fill: Ink, edge: bool) {
        self.shapes.push(Shape::Disc { centre, radius, fill, edge });
    }

    /// Puts another sheet's shapes on this one, moved.
    pub(super) fn place(&mut self, sheet: Self, by: Point) {
        let moved = |point: Point| at(point.x + by.x, point.y + by.y);
        let all = |points: Vec<Point>| points.into_iter().map(moved).collect();
        self.shapes.extend(sheet.shapes.into_iter().map(|shape| match shape {
            Shape::Text { text, place, set } => Shape::Text { text, place: moved(place), set },
            Shape::Line { points, pattern, ink } => {
                Shape::Line { points: all(points), pattern, ink }
            }
            Shape::Area { points, fill } => Shape::Area { points: all(points), fill },
            Shape::Rect { corner, width, height, radius, fill, edge } => {
                Shape::Rect { corner: moved(corner), width, height, radius, fill, edge }
            }
            Shape::Disc { centre, radius, fill, edge } => {
                Shape::Disc { centre: moved(centre), radius, fill, edge }
            }
        }));
    }

    /// Every text with the part of the paper it takes.
    pub(super) fn texts(&self) -> Vec<TextBox> {
        let texts = self.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { text, place, set } => Some(text_box(text, *place, set)),
            _ => None,
        });
        texts.collect()
    }

    /// The whole paper as a document of its own, ending in a line feed.
    pub(super) fn svg(&self) -> String {
        let (width, height) = (number(self.width), number(self.height));
        let document = html! {
            svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="title desc"
                width=(width) height=(height) viewBox={ "0 0 " (width) " " (height) }
                font-family="sans-serif" {
                (self.named("title", "desc"))
                (self.shapes_within(0.0, self.height))
            }
        };
        let mut text = document.into_string();
        text.push('\n');
        text
    }

    /// A horizontal strip of the paper as an element of a page. One of the strips has the key
    /// of the picture's names; the others are silent to those who listen.
    pub(super) fn strip(&self, key: Option<&str>, (top, bottom): (f64, f64)) -> Markup {
        let (title, description) = match key {
            Some(key) => (format!("{key}-title"), format!("{key}-desc")),
            None => (String::new(), String::new()),
        };
        let (width, height) = (number(self.width), number(bottom - top));
        html! {
            svg.strip xmlns="http://www.w3.org/2000/svg" role=[key.map(|_| "img")]
                aria-labelledby=[key.map(|_| format!("{title} {description}"))]
                aria-hidden=[key.is_none().then_some("true")]
                width=(width) height=(height)
                viewBox={ "0 " (number(top)) " " (width) " " (height) } font-family="sans-serif" {
                @if key.is_some() { (self.named(&title, &description)) }
                (self.shapes_within(top, bottom))
            }
        }
    }

    /// Title and description under names of their own.
    fn named(&self, title: &str, description: &str) -> Markup {
        html! {
            title id=(title) { (glyph::clean(&self.title)) }
            (line_feed())
            desc id=(description) { (glyph::clean(&self.description)) }
            (line_feed())
        }
    }

    fn shapes_within(&self, top: f64, bottom: f64) -> Markup {
        html! {
            rect x="0" y=(number(top)) width=(number(self.width)) height=(number(bottom - top))
                fill=(Ink::White.code()) {}
            (line_feed())
            @for shape in self.shapes.iter().filter(|shape| shape.is_within(top, bottom)) {
                (shape.markup())
                (line_feed())
            }
        }
    }
}

/// One shape a line, so that two drawings can be compared as text.
fn line_feed() -> PreEscaped<&'static str> {
    PreEscaped("\n")
}

impl Shape {
    /// Whether any of it lies in a strip; half a line's weight is allowed for.
    fn is_within(&self, top: f64, bottom: f64) -> bool {
        const EDGE: f64 = 8.0;
        let (upper, lower) = match self {
            Self::Text { text, place, set } => {
                let taken = text_box(text, *place, set);
                (taken.top, taken.bottom)
            }
            Self::Line { points, .. } | Self::Area { points, .. } => {
                let ys = || points.iter().map(|point| point.y);
                (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max))
            }
            Self::Rect { corner, height, .. } => (corner.y, corner.y + height),
            Self::Disc { centre, radius, .. } => (centre.y - radius, centre.y + radius),
        };
        lower + EDGE > top && upper - EDGE < bottom
    }

    fn markup(&self) -> Markup {
        match self {
            Self::Text { text, place, set } => text_markup(text, *place, set),
            Self::Line { points, pattern, ink } => line_markup(points, *pattern, *ink),
            Self::Area { points, fill } => html! {
                polygon points=(list(points)) fill=(fill.code()) {}
            },
            Self::Rect { corner, width, height, radius, fill, edge } => html! {
                rect x=(number(corner.x)) y=(number(corner.y)) width=(number(*width))
                    height=(number(*height)) rx=[(*radius > 0.0).then(|| number(*radius))]
                    fill=(fill.code())
                    stroke=[edge.map(|_| Ink::Black.code())]
                    stroke-width=[edge.map(|edge| number(edge.weight()))]
                    stroke-dasharray=[edge.and_then(Pattern::dashes)]
                    stroke-linecap=[edge.and_then(Pattern::dashes).map(|_| "round")] {}
                @if let Some(core) = edge.and_then(Pattern::core) {
                    rect x=(number(corner.x)) y=(number(corner.y)) width=(number(*width))
                        height=(number(*height)) rx=[(*radius > 0.0).then(|| number(*radius))]
                        fill="none" stroke="#fff" stroke-width=(number(core)) {}
                }
            },
            Self::Disc { centre, radius, fill, edge } => html! {
                circle cx=(number(centre.x)) cy=(number(centre.y)) r=(number(*radius))
                    fill=(fill.code()) stroke=[edge.then_some("#000")]
                    stroke-width=[edge.then_some("1.6")] {}
            },
        }
    }
}

fn text_markup(text: &str, place: Point, set: &Type) -> Markup {
    let anchor = match set.anchor {
        Anchor::Start => None,
        Anchor::Middle => Some("middle"),
        Anchor::End => Some("end"),
    };
    // A text of unknown width is squeezed into what was reserved for it.
    let squeezed = glyph::is_uncertain(text).then(|| number(set.width(text)));
    html! {
        text x=(number(place.x)) y=(number(place.y)) font-size=(number(set.size))
            font-weight=[(set.weight == Weight::Bold).then_some("bold")]
            text-anchor=[anchor] fill=[(set.ink != Ink::Black).then(|| set.ink.code())]
            textLength=[squeezed.as_deref()]
            lengthAdjust=[squeezed.as_deref().map(|_| "spacingAndGlyphs")] { (text) }
    }
}

fn line_markup(points: &[Point], pattern: Pattern, ink: Ink) -> Markup {
    let points = list(points);
    let rounded = matches!(pattern, Pattern::Dotted | Pattern::Stroke).then_some("round");
    html! {
        polyline points=(points) fill="none" stroke=(ink.code())
            stroke-width=(number(pattern.weight())) stroke-dasharray=[pattern.dashes()]
            stroke-linecap=[rounded] stroke-linejoin="round" {}
        @if let Some(core) = pattern.core() {
            polyline points=(points) fill="none" stroke="#fff" stroke-width=(number(core))
                stroke-linejoin="round" {}
        }
    }
}

fn text_box(text: &str, place: Point, set: &Type) -> TextBox {
    let width = set.width(text);
    let left = match set.anchor {
        Anchor::Start => place.x,
        Anchor::Middle => place.x - width / 2.0,
        Anchor::End => place.x - width,
    };
    TextBox {
        text: text.to_owned(),
        left,
        // Ascent and descent of the widest of the faces, without the white above accents.
        top: place.y - 0.8 * set.size,
        right: left + width,
        bottom: place.y + 0.24 * set.size,
    }
}

fn list(points: &[Point]) -> String {
    let pairs: Vec<String> =
        points.iter().map(|point| format!("{},{}", number(point.x), number(point.y))).collect();
    pairs.join(" ")
}

/// A coordinate to a tenth, without a trailing zero or the minus of nothing.
fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hostile_text_stays_text() {
        let mut sheet = Sheet::sized(100.0, 20.0);
        sheet.text(at(0.0, 10.0), Type::regular(10.0), "</text><script>\"&'");
        let svg = sheet.svg();
        assert!(svg.contains("&lt;/text&gt;&lt;script&gt;&quot;&amp;'"), "{svg}");
        assert_eq!(svg.matches("<text").count(), 1);
    }

    #[test]
    fn a_text_of_unknown_width_is_squeezed() {
        let mut sheet = Sheet::sized(100.0, 20.0);
        sheet.text(at(0.0, 10.0), Type::regular(10.0), "陶芸");
        assert!(sheet.svg().contains(r#"textLength="22""#), "{}", sheet.svg());
    }

    #[test]
    fn coordinates_carry_no_useless_digits() {
        assert_eq!(number(12.0), "12");
        assert_eq!(number(12.25), "12.2");
        assert_eq!(number(-0.01), "0");
    }
}
