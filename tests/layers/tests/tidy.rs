//! Tidiness that a reader would otherwise have to watch for: leftovers, long files and functions, things in wrong rooms.

use std::fs;
use std::path::{Path, PathBuf};

/// A file is one sitting.
const FILE_LINES: usize = 600;

/// A function is one thought.
const FUNCTION_LINES: usize = 80;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().expect("the workspace's root")
}

fn sources(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![root().join(folder)];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(&next).expect("a folder of the workspace").flatten() {
            let path = entry.path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let name = path.strip_prefix(root()).expect("inside the root").display().to_string();
                found.push((name, fs::read_to_string(&path).expect("a source file")));
            }
        }
    }
    assert!(!found.is_empty(), "no sources under {folder}: this check would look at nothing");
    found.sort();
    found
}

fn everything() -> Vec<(String, String)> {
    ["crates", "services", "tests"].iter().flat_map(|folder| sources(folder)).collect()
}

fn lines_with<'a>(sources: &'a [(String, String)], words: &'a [String]) -> Vec<String> {
    let mut hits = Vec::new();
    for (name, text) in sources {
        for (index, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            if words.iter().any(|word| code.contains(word.as_str())) {
                hits.push(format!("{name}:{}: {}", index + 1, line.trim()));
            }
        }
    }
    hits
}

/// Joined from halves so that this file does not find itself.
fn spelt(halves: &[(&str, &str)]) -> Vec<String> {
    halves.iter().map(|(first, second)| format!("{first}{second}")).collect()
}

#[test]
fn no_leftovers_lie_about() {
    let words = spelt(&[
        ("dbg", "!("),
        ("todo", "!("),
        ("unimplemented", "!("),
        ("#[ign", "ore"),
        ("allow(cli", "ppy"),
    ]);
    assert_eq!(lines_with(&everything(), &words), Vec::<String>::new());
}

#[test]
fn only_the_stores_drivers_know_the_drivers() {
    let words = spelt(&[
        ("Sqlite", "Pool"),
        ("Pg", "Pool"),
        ("sqlx::Sql", "ite"),
        ("sqlx::Post", "gres"),
        ("Sqlite", "Connection"),
        ("Pg", "Connection"),
    ]);
    let hits = lines_with(&everything(), &words);
    let elsewhere: Vec<&String> =
        hits.iter().filter(|hit| !hit.starts_with("crates/store/src/drivers")).collect();
    assert_eq!(elsewhere, Vec::<&String>::new());
}

#[test]
fn sql_is_spoken_in_the_store_alone() {
    let words = spelt(&[("SELECT ", ""), ("INSERT ", "INTO"), ("DELETE ", "FROM"), ("UPDATE ", "vehicle")]);
    let hits = lines_with(&[sources("crates"), sources("services")].concat(), &words);
    let elsewhere: Vec<&String> = hits
        .iter()
        .filter(|hit| !hit.starts_with("crates/store/") && !hit.starts_with("crates/testkit/"))
        .collect();
    assert_eq!(elsewhere, Vec::<&String>::new());
}

#[test]
fn a_file_can_be_read_in_one_sitting() {
    let long: Vec<String> = everything()
        .into_iter()
        .filter(|(_, text)| text.lines().count() > FILE_LINES && !text.contains("// Long because "))
        .map(|(name, text)| format!("{name}: {} lines", text.lines().count()))
        .collect();
    assert_eq!(long, Vec::<String>::new());
}

#[test]
fn a_function_is_one_thought() {
    let mut long = Vec::new();
    for (name, text) in everything() {
        let lines: Vec<&str> = text.lines().collect();
        for (start, line) in lines.iter().enumerate() {
            let Some(indent) = function_indent(line) else { continue };
            let close = format!("{}}}", " ".repeat(indent));
            let length = lines[start..].iter().position(|l| *l == close).unwrap_or(0);
            let excused = lines[start..start + length].iter().any(|l| l.contains("// Long because "));
            if length > FUNCTION_LINES && !excused {
                long.push(format!("{name}:{}: {length} lines", start + 1));
            }
        }
    }
    assert_eq!(long, Vec::<String>::new());
}

/// The indentation of a line that opens a function, judged by how rustfmt writes one.
fn function_indent(line: &str) -> Option<usize> {
    let trimmed = line.trim_start();
    let opening = [
        "fn ",
        "pub fn ",
        "async fn ",
        "pub async fn ",
        "pub const fn ",
        "const fn ",
        "pub(crate) fn ",
        "pub(crate) async fn ",
        "pub(super) fn ",
        "pub(super) async fn ",
    ];
    opening.iter().any(|start| trimmed.starts_with(start)).then(|| line.len() - trimmed.len())
}

#[test]
fn every_source_file_says_what_it_is_for() {
    let silent: Vec<String> =
        everything().into_iter().filter(|(_, text)| !text.starts_with("//!")).map(|(name, _)| name).collect();
    assert_eq!(silent, Vec::<String>::new());
}
