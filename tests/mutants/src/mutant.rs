//! Planted beside the mutants: which of them is on.

use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

const RECORD: u32 = u32::MAX - 1;
const UNSET: u32 = u32::MAX;

static ACTIVE: AtomicU32 = AtomicU32::new(UNSET);
static REACHED: [AtomicBool; N_SITES] = [const { AtomicBool::new(false) }; N_SITES];
static RECORDING: Mutex<Option<std::fs::File>> = Mutex::new(None);

/// The mutant that is on, asked at a site.
#[inline]
pub fn at(site: u32) -> u32 {
    let active = ACTIVE.load(Ordering::Relaxed);
    if active < RECORD { active } else { slowly(site) }
}

#[cold]
fn slowly(site: u32) -> u32 {
    if ACTIVE.load(Ordering::Relaxed) == UNSET {
        let number = std::env::var("MUTANT").ok().and_then(|text| text.parse().ok()).unwrap_or(0);
        let recording = std::env::var_os("MUTANT_REACH").is_some();
        ACTIVE.store(if recording { RECORD } else { number }, Ordering::Relaxed);
        return at(site);
    }
    if !REACHED[site as usize].swap(true, Ordering::Relaxed) {
        let mut recording = RECORDING.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        if recording.is_none() {
            let path = std::env::var_os("MUTANT_REACH").unwrap_or_default();
            *recording = std::fs::OpenOptions::new().create(true).append(true).open(path).ok();
        }
        if let Some(file) = recording.as_mut() {
            let _ = writeln!(file, "{site}");
        }
    }
    0
}
