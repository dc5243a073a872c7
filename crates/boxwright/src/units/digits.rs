//! Numbers in texts, written digit by digit: what the general formatter gives, sooner.

use std::io::Write as _;

/// A whole number, with zeros in front up to this width.
pub(crate) fn push_whole(out: &mut Vec<u8>, mut value: u64, width: usize) {
    let digits = value.checked_ilog10().map_or(1, |n| n as usize + 1);
    let from = out.len();
    out.resize(from + digits.max(width), b'0');
    for place in out[from..].iter_mut().rev().take(digits) {
        *place += (value % 10) as u8;
        value /= 10;
    }
}

/// A number with exactly this many decimals, rounded from its exact value; never `-0`.
pub(crate) fn push_fixed(out: &mut Vec<u8>, value: f64, decimals: usize) {
    let Some((whole, part)) = split(value.abs(), decimals) else {
        let from = out.len();
        let _ = write!(out, "{value:.decimals$}");
        if out[from..].starts_with(b"-") && out[from + 1..].iter().all(|b| b"0.".contains(b)) {
            out.remove(from);
        }
        return;
    };
    if value < 0.0 && (whole, part) != (0, 0) {
        out.push(b'-');
    }
    push_whole(out, whole, 1);
    if decimals > 0 {
        out.push(b'.');
        push_whole(out, part, decimals);
    }
}

/// The whole part and the decimals as a whole number; `None` where scaling the number to whole
/// decimals could round it the wrong way.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "only positive numbers below 2^53 and powers of ten are turned"
)]
fn split(value: f64, decimals: usize) -> Option<(u64, u64)> {
    const EXACT: f64 = (1u64 << 53) as f64;
    let power = *POWERS.get(decimals)?;
    // Whole millimetres are common.
    if value < EXACT && value.floor() == value {
        return Some((value as u64, 0));
    }
    let scaled = value * power as f64;
    if scaled.is_nan() || scaled >= EXACT {
        return None;
    }
    let down = scaled.floor();
    let over = scaled - down;
    // The product is off by half its last place at most; near a half that would decide.
    if (over - 0.5).abs() <= scaled * f64::EPSILON {
        return None;
    }
    let n = down as u64 + u64::from(over > 0.5);
    Some((n / power, n % power))
}

const POWERS: [u64; 16] = {
    let mut powers = [1; 16];
    let mut i = 1;
    while i < powers.len() {
        powers[i] = powers[i - 1] * 10;
        i += 1;
    }
    powers
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_those_of_the_general_formatter() {
        let mut values = vec![
            0.0,
            0.5,
            1.5,
            2.5,
            0.125,
            0.000_000_5,
            0.999_999_5,
            12.345_678_5,
            1e-9,
            5e-7,
            1e12,
            0.1 + 0.2,
            1e15,
            9_007_199_254.740_993,
            0.414_213_562_373_095,
            f64::MIN_POSITIVE,
            99.95,
        ];
        let mut state = 1u64;
        for k in 0..20_000 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            let share = f64::from((state >> 33) as u32) / f64::from(1u32 << 31);
            values.push(share * 10f64.powi(k % 12 - 3));
            values.push((share * 4096.0).floor() / 64.0);
        }
        for value in values.iter().flat_map(|v| [*v, -v]) {
            for decimals in [0, 1, 2, 3, 6, 12, 15] {
                let mut ours = Vec::new();
                push_fixed(&mut ours, value, decimals);
                let mut theirs = format!("{value:.decimals$}");
                if theirs.bytes().all(|b| b"-0.".contains(&b)) {
                    theirs = theirs.replace('-', "");
                }
                assert_eq!(
                    String::from_utf8(ours).unwrap(),
                    theirs,
                    "{value:e} with {decimals}"
                );
            }
        }
    }
}
