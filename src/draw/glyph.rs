//! How wide a text is, without any font at hand.
//!
//! The widths are the larger of two widespread generic sans-serif faces, so that a text set in
//! either, or in a narrower one, stays inside what is reserved for it.

/// Advance widths of the characters from space to `~`, thousandths of the type size.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 337, 637, 637, 637,
    637, 637, 637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 557, 1016, 685, 687, 723, 771, 667,
    611, 778, 752, 295, 500, 667, 558, 863, 749, 788, 667, 788, 723, 667, 611, 732, 685, 989, 686,
    667, 686, 391, 337, 391, 838, 557, 500, 613, 635, 550, 635, 616, 353, 635, 634, 278, 278, 580,
    278, 975, 634, 612, 635, 635, 412, 521, 393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
];

/// The same in bold.
const BOLD: [u16; 95] = [
    349, 457, 521, 838, 696, 1002, 873, 307, 458, 458, 523, 838, 380, 416, 380, 366, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 611, 1000, 774, 763, 734, 831, 684,
    684, 821, 837, 373, 557, 775, 638, 996, 837, 851, 733, 851, 771, 721, 683, 813, 774, 1104, 771,
    725, 726, 458, 366, 458, 838, 557, 500, 675, 716, 593, 716, 679, 436, 716, 712, 343, 343, 666,
    343, 1042, 712, 688, 716, 716, 494, 596, 479, 712, 652, 924, 646, 652, 583, 712, 366, 712, 838,
];

/// Every other character, thousandths of the type size. Latin letters with accents and the few
/// signs that pictures use are narrower; the rest is squeezed to this by the drawing.
const OTHER: u16 = 1100;

/// Weights of type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// The width of a text at a type size, in the unit of the size.
pub(super) fn width(text: &str, size: f64, weight: Weight) -> f64 {
    let table = match weight {
        Weight::Regular => &REGULAR,
        Weight::Bold => &BOLD,
    };
    let thousandths: u64 = text.chars().map(|c| u64::from(advance(table, c))).sum();
    thousandths as f64 * size / 1000.0
}

/// Whether a renderer may set the text wider than [`width`] says: it holds characters whose
/// width no table knows.
pub(super) fn is_uncertain(text: &str) -> bool {
    text.chars().any(|c| !is_known(c))
}

/// A text without what no drawing can hold: control characters and marks that turn the
/// direction of writing become a visible replacement, runs of blanks one blank.
pub(super) fn clean(text: &str) -> String {
    let visible = |c: char| if is_unprintable(c) { '\u{fffd}' } else { c };
    let words: Vec<String> =
        text.split_whitespace().map(|word| word.chars().map(visible).collect()).collect();
    words.join(" ")
}

/// A text in lines no wider than `limit`: broken at blanks; inside a word only where the word
/// alone is wider, after a sign if there is one and between letters if not.
pub(super) fn wrap(text: &str, limit: f64, size: f64, weight: Weight) -> Vec<String> {
    let fits = |text: &str| width(text, size, weight) <= limit;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let mut joined = lines.last().cloned().unwrap_or_default();
        joined.push_str(if joined.is_empty() { "" } else { " " });
        joined.push_str(word);
        match lines.last_mut() {
            Some(line) if fits(&joined) => *line = joined,
            _ if fits(word) => lines.push(word.to_owned()),
            _ => lines.extend(broken(word, fits)),
        }
    }
    lines
}

/// A word that fits on no line, in pieces that do; a piece has at least one letter.
fn broken(word: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines = vec![String::new()];
    for piece in word.split_inclusive(['-', '_', '.', '/']) {
        let line = lines.last_mut().map(std::mem::take).unwrap_or_default();
        if fits(&format!("{line}{piece}")) {
            lines.pop();
            lines.push(format!("{line}{piece}"));
            continue;
        }
        let mut line = line;
        lines.pop();
        if !line.is_empty() && fits(piece) {
            lines.push(std::mem::take(&mut line));
        }
        for letter in piece.chars() {
            let longer = format!("{line}{letter}");
            if !line.is_empty() && !fits(&longer) {
                lines.push(std::mem::replace(&mut line, letter.to_string()));
            } else {
                line = longer;
            }
        }
        lines.push(line);
    }
    lines
}

fn advance(table: &[u16; 95], character: char) -> u16 {
    // A blank that does not break is as wide as one that does.
    let character = if character == '\u{a0}' { ' ' } else { character };
    let place = (character as usize).checked_sub(' ' as usize);
    place.and_then(|place| table.get(place)).copied().unwrap_or(OTHER)
}

fn is_known(character: char) -> bool {
    matches!(character, ' '..='~' | '\u{a0}'..='\u{ff}' | '∠' | '≈' | 'Ω' | '–' | '≥' | '…')
}

fn is_unprintable(character: char) -> bool {
    character.is_control()
        || matches!(character,
            '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff0}'..='\u{ffff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bold_is_wider_than_regular() {
        assert!(width("119.6 V", 10.0, Weight::Bold) > width("119.6 V", 10.0, Weight::Regular));
    }

    #[test]
    fn lines_stay_inside_the_limit_and_lose_no_letter() {
        let name = "the-very-long-name-of-a-receptacle_in.the/potteryswheelroomupstairs";
        let lines = wrap(name, 80.0, 12.0, Weight::Bold);
        assert!(lines.len() > 1);
        for line in &lines {
            assert!(width(line, 12.0, Weight::Bold) <= 80.0, "{line}");
        }
        assert_eq!(lines.concat(), name);
    }

    #[test]
    fn figures_are_not_parted() {
        let lines = wrap("heater on, 118.2\u{a0}V, 9.85\u{a0}A", 70.0, 12.0, Weight::Regular);
        assert_eq!(lines, ["heater on,", "118.2\u{a0}V,", "9.85\u{a0}A"]);
    }

    #[test]
    fn a_line_holds_at_least_one_letter_however_narrow() {
        assert_eq!(wrap("abc", 0.0, 12.0, Weight::Regular), ["a", "b", "c"]);
    }

    #[test]
    fn control_characters_become_visible() {
        assert_eq!(clean("kil\u{0}n\n\u{202e}door"), "kil\u{fffd}n \u{fffd}door");
    }
}
