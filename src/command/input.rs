//! Reading files, with an answer for everything a file can be.

use std::fs::File;
use std::io::{BufRead, ErrorKind, IsTerminal, Read};

use super::output::Failure;

/// More than this is not read: no circuit written by hand or by a sane program is larger, and
/// the reader of circuit files refuses far less.
const SIZE_MAX_BYTE: u64 = 64 * 1024 * 1024;

/// A text and what to call it.
#[derive(Clone, Debug)]
pub(super) struct Source {
    /// The file's name as typed, or `standard input`.
    pub(super) name: String,
    /// The file as typed, `-` too; none for what is in no file.
    pub(super) file: Option<String>,
    /// What is in it.
    pub(super) text: String,
}

/// What a file is expected to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A circuit, or a condition of one.
    Circuit,
    /// Instruments.
    Instruments,
}

/// Reads a circuit or condition file, or standard input for `-`.
pub(super) fn read(name: &str) -> Result<Source, Failure> {
    read_kind(name, Kind::Circuit)
}

/// Reads a file, or standard input for `-`.
pub(super) fn read_kind(name: &str, kind: Kind) -> Result<Source, Failure> {
    if name == "-" {
        let (name, file) = ("standard input".to_owned(), Some(name.to_owned()));
        let text = text_of(&name, std::io::stdin().lock())?;
        return Ok(Source { name, file, text });
    }
    let file = File::open(name)
        .map_err(|error| Failure::unusable_file(name, cannot_open(name, kind, &error)))?;
    // Opening a directory succeeds on some systems and fails only on reading.
    if file.metadata().is_ok_and(|metadata| metadata.is_dir()) {
        return Err(Failure::unusable_file(
            name,
            format!("`{name}` is a directory; name a circuit file in it"),
        ));
    }
    let text = text_of(name, file)?;
    Ok(Source { name: name.to_owned(), file: Some(name.to_owned()), text })
}

/// More of a line than this is thrown away: nobody types so much.
pub(super) const LINE_MAX: u64 = 4096;

/// A line of what someone types.
pub(super) struct Line {
    /// At most [`LINE_MAX`] bytes of it, whatever is no text replaced.
    pub(super) text: String,
    /// Whether there was more.
    pub(super) is_cut: bool,
}

/// Standard input line by line, whatever is in it.
pub(super) struct Lines {
    input: std::io::StdinLock<'static>,
    at_terminal: bool,
}

impl Lines {
    pub(super) fn new() -> Self {
        let input = std::io::stdin();
        Self { at_terminal: input.is_terminal(), input: input.lock() }
    }

    /// Whether a person sits there.
    pub(super) const fn at_terminal(&self) -> bool {
        self.at_terminal
    }

    /// The next line; nothing at the end.
    pub(super) fn next(&mut self) -> Result<Option<Line>, Failure> {
        let mut bytes = Vec::new();
        let failed = |error| Failure::unusable(format!("cannot read: {error}"));
        let read = self.input.by_ref().take(LINE_MAX).read_until(b'\n', &mut bytes);
        if read.map_err(failed)? == 0 {
            return Ok(None);
        }
        let is_whole = bytes.last() == Some(&b'\n') || (bytes.len() as u64) < LINE_MAX;
        if !is_whole {
            self.input.skip_until(b'\n').map_err(failed)?;
        }
        // Nothing that a terminal would obey is echoed.
        let text = String::from_utf8_lossy(&bytes).chars().filter(|c| !c.is_control()).collect();
        Ok(Some(Line { text, is_cut: !is_whole }))
    }
}

fn text_of(name: &str, reader: impl Read) -> Result<String, Failure> {
    let mut bytes = Vec::new();
    reader
        .take(SIZE_MAX_BYTE + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| Failure::unusable_file(name, format!("cannot read `{name}`: {error}")))?;
    if bytes.len() as u64 > SIZE_MAX_BYTE {
        return Err(Failure::unusable_file(
            name,
            format!(
                "`{name}` is larger than {} MB; that is no circuit file",
                SIZE_MAX_BYTE / (1024 * 1024)
            ),
        ));
    }
    feed_lines(&mut bytes);
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Failure::unusable_file(
            name,
            format!(
                "`{name}` is not a text file: byte {} is not UTF-8. Save it as \
             plain text in UTF-8",
                at + 1
            ),
        )
    })
}

/// Carriage returns that end lines alone, as line feeds: every byte stays in its place, and lines are
/// shown as lines.
fn feed_lines(bytes: &mut [u8]) {
    for at in 0..bytes.len() {
        if bytes.get(at) == Some(&b'\r') && bytes.get(at + 1) != Some(&b'\n') {
            bytes[at] = b'\n';
        }
    }
}

fn cannot_open(name: &str, kind: Kind, error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound if kind == Kind::Instruments => format!(
            "there is no file `{name}`. docs/instruments.md shows how to write one of \
             your own"
        ),
        ErrorKind::NotFound => format!(
            "there is no file `{name}`. `slotwise sample > my.ron` writes one to start \
             from"
        ),
        ErrorKind::PermissionDenied => format!("no permission to read `{name}`"),
        _ => format!("cannot open `{name}`: {error}"),
    }
}
