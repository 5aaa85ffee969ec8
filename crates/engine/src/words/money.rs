//! Amounts of money.

use super::grouped;

/// Currencies without a smaller coin (ISO 4217, from memory).
const WHOLE: [&str; 16] = [
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF",
    "XPF",
];
/// Currencies whose smallest coin is a thousandth (ISO 4217, from memory).
const THOUSANDTHS: [&str; 7] = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"];

/// An amount given in minor units of a currency (ISO 4217): 50400 of EUR are `504.00 EUR`, 15 of JPY `15 JPY`.
///
/// A fraction of the smallest coin is shown, since a price for each kilometre may have one: `0.125 EUR`.
pub(crate) fn money(minor: f64, currency: &str) -> String {
    let decimals = match currency {
        whole if WHOLE.contains(&whole) => 0,
        fine if THOUSANDTHS.contains(&fine) => 3,
        _ => 2,
    };
    let amount = minor / 10_f64.powi(decimals);
    let decimals = usize::try_from(decimals).unwrap_or(2);
    let coins = (minor - minor.round()).abs();
    let decimals = if coins > 1e-9 { decimals + 2 } else { decimals };
    let text = format!("{:.decimals$}", amount.abs());
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let whole = whole.parse().map_or_else(|_| whole.to_owned(), grouped);
    let sign = if amount < 0.0 { "-" } else { "" };
    let fraction = if coins > 1e-9 { fraction.trim_end_matches('0') } else { fraction };
    let point = if fraction.is_empty() { "" } else { "." };
    format!("{sign}{whole}{point}{fraction} {currency}")
}

#[cfg(test)]
mod tests {
    use super::money;
    use rstest::rstest;

    #[rstest]
    #[case::cents(50_400.0, "EUR", "504.00 EUR")]
    #[case::thousands(123_456_789.0, "USD", "1,234,567.89 USD")]
    #[case::a_fraction_of_a_cent(12.5, "EUR", "0.125 EUR")]
    #[case::no_cents(1500.0, "JPY", "1,500 JPY")]
    #[case::thousandths(1500.0, "KWD", "1.500 KWD")]
    #[case::paid_back(-250.0, "GBP", "-2.50 GBP")]
    fn money_is_shown_in_its_currency(#[case] minor: f64, #[case] currency: &str, #[case] shown: &str) {
        assert_eq!(money(minor, currency), shown);
    }
}
