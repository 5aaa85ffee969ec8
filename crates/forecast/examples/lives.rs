//! Lives of parts, for comparison with other implementations (`tests/oracles`).
//!
//! Reads one group of parts a line, each part as `f12.5` (failed) or `c12.5` (censored); writes for each line the shape and
//! scale of the Weibull distribution, its log-likelihood, and the share that survives at each failure.

use forecast::survival::{KaplanMeier, Life, Weibull};
use std::io::{BufRead, stdin};
use std::process::ExitCode;

fn main() -> ExitCode {
    for line in stdin().lock().lines().map_while(Result::ok) {
        let lives: Option<Vec<Life>> = line.split_whitespace().map(life).collect();
        let Some(told) = lives.and_then(|lives| told(&lives)) else {
            eprintln!("lives: {line:?} tells no lives");
            return ExitCode::FAILURE;
        };
        println!("{told}");
    }
    ExitCode::SUCCESS
}

fn life(text: &str) -> Option<Life> {
    let length = text.get(1..)?.parse().ok()?;
    match text.get(..1)? {
        "f" => Some(Life::Failed(length)),
        "c" => Some(Life::Censored(length)),
        _ => None,
    }
}

fn told(lives: &[Life]) -> Option<String> {
    let weibull = Weibull::fit(lives).ok()?;
    let curve = KaplanMeier::new(lives).ok()?;
    let steps: Vec<String> =
        curve.steps().iter().map(|step| format!("{}:{}", step.length, step.survival)).collect();
    let likelihood = weibull.log_likelihood(lives);
    Some(format!("{} {} {likelihood} {}", weibull.shape, weibull.scale, steps.join(" ")))
}
