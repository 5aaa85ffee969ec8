//! Puts the lines of standard input into American English, as letters do with British texts of the program.

use letters::Language;
use std::io::{BufRead, Result, Write, stdin, stdout};

fn main() -> Result<()> {
    let mut out = stdout().lock();
    for line in stdin().lock().lines() {
        writeln!(out, "{}", Language::American.adapted(&line?))?;
    }
    Ok(())
}
