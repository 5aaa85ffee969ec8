//! Letters as files.

use crate::conversation::{LETTER, letter_id};
use courier::carrier::{Carriage, Carrier};
use courier::outcome::Outcome;
use courier::settings::{Mail, Settings};
use courier::smtp::FinalDot;
use std::fs;
use std::path::{Path, PathBuf};

/// An empty place of this test's own.
fn place(name: &str) -> PathBuf {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::remove_dir_all(&place).ok();
    fs::create_dir_all(&place).expect("a folder");
    place
}

fn carrier(folder: &Path) -> Carrier {
    let settings = Settings::new(Mail::Folder(folder.to_owned()), "ostler@fleet.example");
    Carriage::new(&settings).expect("good settings").carrier()
}

async fn put(folder: &Path, bytes: &[u8]) -> Outcome {
    carrier(folder).deliver(letter_id(), "ada@fleet.example", bytes, &FinalDot::default()).await
}

#[tokio::test]
async fn a_letter_becomes_one_file_with_its_exact_bytes() {
    let folder = place("letters").join("deeper");
    let outcome = put(&folder, LETTER).await;
    assert!(matches!(outcome, Outcome::Sent { .. }), "{outcome:?}");
    let names: Vec<_> = fs::read_dir(&folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name())
        .collect();
    assert_eq!(names, [format!("{}.eml", letter_id()).as_str()]);
    assert_eq!(fs::read(folder.join(&names[0])).expect("the letter"), LETTER);
}

#[tokio::test]
async fn a_second_copy_takes_the_place_of_the_first() {
    let folder = place("copies");
    put(&folder, b"the first\r\n").await;
    put(&folder, LETTER).await;
    assert_eq!(fs::read_dir(&folder).expect("the folder").count(), 1);
    assert_eq!(fs::read(folder.join(format!("{}.eml", letter_id()))).expect("the letter"), LETTER);
}

#[tokio::test]
async fn a_folder_that_cannot_be_written_bars_the_way() {
    let place = place("barred").join("a-file");
    fs::write(&place, "not a folder").expect("a file");
    let outcome = put(&place, LETTER).await;
    assert!(matches!(&outcome, Outcome::Barred { reply } if reply.contains("cannot write")), "{outcome:?}");
}
