//! Letters as files, where no relay is set.

use crate::outcome::{Outcome, Step};
use model::LetterId;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// Puts the letter into `folder` as `<id>.eml`: whole or not at all, also through a power cut. A second copy replaces
/// the first.
pub async fn put(folder: &Path, letter: LetterId, bytes: &[u8]) -> Outcome {
    let (folder, bytes) = (folder.to_owned(), bytes.to_owned());
    let named = folder.join(format!("{letter}.eml"));
    let written = tokio::task::spawn_blocking(move || write(&folder, letter, &bytes)).await;
    match written.map_err(io::Error::other).and_then(|done| done) {
        Ok(()) => Outcome::Sent { reply: format!("written to {}", named.display()) },
        Err(fault) => {
            Outcome::of_fault(Step::Connecting, &format!("cannot write {}: {fault}", named.display()))
        }
    }
}

fn write(folder: &Path, letter: LetterId, bytes: &[u8]) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let unfinished = folder.join(format!(".{letter}.part"));
    let mut file = File::create(&unfinished)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    fs::rename(&unfinished, folder.join(format!("{letter}.eml")))?;
    // The name is on disk only once its folder is.
    File::open(folder)?.sync_all()
}
