//! Tells cargo that the embedded migrations belong to this crate's sources.

fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}
