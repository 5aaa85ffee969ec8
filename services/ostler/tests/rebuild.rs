//! `ostler rebuild` on the demo fleet, as an operator runs it.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use store::{Address, Store};
use testkit::spoilt::OF_DERIVED_TABLES;

/// Loads the demo into `folder` by serving it for a moment.
fn load_demo(folder: &Path) {
    let mut serving = Command::new(env!("CARGO_BIN_EXE_ostler"))
        .args(["serve", "--demo", "--json", "--listen", "127.0.0.1:0", "--data"])
        .arg(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let mut line = String::new();
    let out = serving.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut line).expect("a line");
    assert!(line.contains("address"), "it serves: {line}");
    let told = Command::new("kill").arg(serving.id().to_string()).status().expect("told to stop");
    assert!(told.success() && serving.wait().expect("it stops").success());
}

fn rebuild(file: &Path, arguments: &[&str]) -> (Output, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_ostler"))
        .arg("rebuild")
        .args(arguments)
        .env("OSTLER_STORE__ADDRESS", format!("sqlite:{}", file.display()))
        .current_dir(file.parent().expect("a folder"))
        .output()
        .expect("the program runs");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    (output, text)
}

fn spoil(file: &Path, place: usize) -> u64 {
    testkit::tell(async {
        let store = Store::open(&Address::File(file.to_owned())).await.expect("the file opens");
        let touched = OF_DERIVED_TABLES[place].done_to(&store).await;
        store.close().await;
        touched
    })
}

#[test]
fn the_demo_is_proven_a_spoilt_row_is_named_and_a_rebuild_mends_it() {
    let place = testkit::sqlite::sqlite_file();
    let folder = place.directory().join("demo");
    load_demo(&folder);
    let file = folder.join("demo.sqlite");
    let (first, text) = rebuild(&file, &[]);
    assert!(first.status.success() && text.contains(" vehicles rebuilt, "), "{text} {first:?}");

    let (proven, text) = rebuild(&file, &["--verify"]);
    assert!(proven.status.success(), "{text}");
    assert!(
        text.contains(" vehicles compared, 0 differ; 0 vehicles are behind") && !text.starts_with("0 "),
        "{text}"
    );

    for (number, spoiling) in OF_DERIVED_TABLES.iter().enumerate() {
        let touched = spoil(&file, number);
        let (found, text) = rebuild(&file, &["--verify"]);
        assert_eq!(found.status.code(), Some(1), "{text}");
        let named = text.lines().filter(|line| line.starts_with("difference ")).collect::<Vec<_>>();
        assert_eq!(u64::try_from(named.len()).expect("a few"), touched, "{text}");
        assert!(named.iter().all(|line| line.contains(&format!(", {} ", spoiling.table))), "{text}");
        assert!(rebuild(&file, &[]).0.status.success());
        let (mended, text) = rebuild(&file, &["--verify"]);
        assert!(mended.status.success(), "{text}");
    }
}

#[test]
fn a_file_that_another_process_serves_is_left_alone() {
    let place = testkit::sqlite::sqlite_file();
    std::fs::create_dir(place.directory().join("own")).expect("a folder");
    let file = place.directory().join("own/ostler.sqlite");
    let lock = std::fs::File::create(place.directory().join("own/ostler.sqlite.lock")).expect("a lock");
    lock.lock().expect("locked");
    let (refused, _) = rebuild(&file, &["--verify"]);
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(1), "{said}");
    assert!(said.contains("another ostler process serves"), "{said}");
}
