//! Chance that a seed repeats.

use model::Chance;
use std::sync::atomic::{AtomicU64, Ordering};

/// The weight of a step of `SplitMix64`: 2^64 divided by the golden ratio, made odd.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// Bytes that look random and are the same for the same seed: `SplitMix64` (Steele, Lea, Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014). Not fit for secrets.
#[derive(Debug)]
pub struct SeededChance {
    state: AtomicU64,
}

impl SeededChance {
    /// Chance that begins at `seed`.
    pub fn from_seed(seed: u64) -> Self {
        Self { state: AtomicU64::new(seed) }
    }

    /// The next 64 bits.
    pub fn draw(&self) -> u64 {
        let state = self.state.fetch_add(STEP, Ordering::Relaxed).wrapping_add(STEP);
        let mixed = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `limit` (at least 1); even enough for tests.
    ///
    /// # Panics
    /// When the limit is 0.
    pub fn below(&self, limit: u64) -> u64 {
        self.draw() % limit
    }
}

impl Chance for SeededChance {
    fn fill(&self, bytes: &mut [u8]) {
        for chunk in bytes.chunks_mut(8) {
            chunk.copy_from_slice(&self.draw().to_le_bytes()[..chunk.len()]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first values that `java.util.SplittableRandom` and the C reference `splitmix64.c` (Vigna, 2015) give for
    /// seed 1234567, as published with the Rosetta Code task "Pseudo-random numbers/Splitmix64".
    #[test]
    fn the_draws_are_those_of_the_published_generator() {
        let chance = SeededChance::from_seed(1_234_567);
        let drawn: Vec<u64> = (0..5).map(|_| chance.draw()).collect();
        let published = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        assert_eq!(drawn, published);
    }

    #[test]
    fn the_same_seed_fills_the_same_bytes_and_another_does_not() {
        let filled = |seed| {
            let mut bytes = [0; 13];
            SeededChance::from_seed(seed).fill(&mut bytes);
            bytes
        };
        assert_eq!(filled(7), filled(7));
        assert_ne!(filled(7), filled(8));
    }
}
