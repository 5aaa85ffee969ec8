//! Lives of parts, for comparison with other implementations (`tests/oracles`).
//!
//! Reads one group of parts a line, each part as `f12.5` (failed) or `c12.5` (censored); writes for each line the shape and
//! scale of the Weibull distribution, its log-likelihood, and the share that survives at each
//! failure with its bounds at 80 % (between which it lies eight times in ten).

use forecast::survival::{KaplanMeier, Life, Step, Weibull};
use forecast::wear::BAND_SCORES;
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
    let step = |step: &Step| {
        let [low, high] = step.survival_band(BAND_SCORES[2]).unwrap_or([f64::NAN; 2]);
        format!("{}:{}:{low}:{high}", step.length, step.survival)
    };
    let steps: Vec<String> = curve.steps().iter().map(step).collect();
    let likelihood = weibull.log_likelihood(lives);
    Some(format!("{} {} {likelihood} {}", weibull.shape, weibull.scale, steps.join(" ")))
}
