//! Random numbers that are the same on every machine.

/// Chance with a seed: the same vehicles on every machine.
pub struct Dice {
    state: u64,
}

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// A number above 0 and below 1; `SplitMix64` (Steele, Lea and Flood 2014; from memory).
    pub fn unit(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^= mixed >> 31;
        // The upper 52 bits become the fraction of a number from 1 to 2.
        f64::from_bits(0x3FF0_0000_0000_0000 | (mixed >> 12)) - 1.0 + f64::EPSILON / 2.0
    }

    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.unit()
    }

    /// Standard normal, by the polar method.
    pub fn normal(&mut self) -> f64 {
        loop {
            let (x, y) = (self.between(-1.0, 1.0), self.between(-1.0, 1.0));
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                return x * libm::sqrt(-2.0 * libm::log(square) / square);
            }
        }
    }

    /// Gamma(shape, rate 1), by Marsaglia and Tsang (2000; from memory).
    pub fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * libm::pow(self.unit(), 1.0 / shape);
        }
        let scale = shape - 1.0 / 3.0;
        let slope = 1.0 / libm::sqrt(9.0 * scale);
        loop {
            let normal = self.normal();
            let root = 1.0 + slope * normal;
            let cube = root * root * root;
            if root > 0.0
                && libm::log(self.unit()) < 0.5 * normal * normal + scale * (1.0 - cube + libm::log(cube))
            {
                return scale * cube;
            }
        }
    }
}
