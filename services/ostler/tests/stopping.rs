//! R59: told to stop before it serves, the program ends as it does later.

use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

fn tell_to_stop(program: &Child) {
    let told = Command::new("kill").arg(program.id().to_string()).status().expect("kill runs");
    assert!(told.success());
}

#[test]
fn r59_a_program_still_loading_its_demo_ends_in_peace() {
    let place = testkit::sqlite::sqlite_file();
    let folder = place.directory().join("demo");
    let mut serving = Command::new(env!("CARGO_BIN_EXE_ostler"))
        .args(["serve", "--demo", "--json", "--listen", "127.0.0.1:0", "--data"])
        .arg(&folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    // The file is made before the demo is loaded into it, which takes far longer.
    while !folder.join("demo.sqlite").exists() {
        assert_eq!(serving.try_wait().expect("an answer"), None, "it ended by itself");
        sleep(Duration::from_millis(1));
    }
    tell_to_stop(&serving);
    let ended = serving.wait().expect("it ends");
    assert!(ended.success(), "{ended}");
}
