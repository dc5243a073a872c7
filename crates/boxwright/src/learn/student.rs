//! Student's t distribution and what follows from it: quantiles, Grubbs' limit for a reading that
//! stands apart, Wilson's interval for a share.
//!
//! The distribution function is the regularised incomplete beta function, worked out from its
//! continued fraction (Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 26.5.8 and
//! 26.7.1), the quantile by halving. Plain numbers throughout.

/// Degrees of freedom that count as without end: the quantiles differ from those of the normal
/// distribution by less than 0.0003.
pub const ENDLESS: f64 = 1e4;

/// Logarithm of the gamma function, for x > 0: Stirling's series (6.1.41) after a climb to x >= 10,
/// where its first left-out term is below 1e-12.
fn ln_gamma(mut x: f64) -> f64 {
    let mut climbed = 0.0;
    while x < 10.0 {
        climbed += x.ln();
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    let series = (1.0 / 12.0 - r * (1.0 / 360.0 - r * (1.0 / 1260.0 - r / 1680.0))) / x;
    (x - 0.5) * x.ln() - x + 0.5 * std::f64::consts::TAU.ln() + series - climbed
}

/// The continued fraction of the incomplete beta function, by Lentz' method.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let kept = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / kept(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    let mut m = 0.0;
    while m < 1000.0 {
        m += 1.0;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / kept(1.0 + term * d);
            c = kept(1.0 + term / c);
            step = c * d;
            value *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

/// The regularised incomplete beta function.
fn beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let front = a * x.ln() + b * (1.0 - x).ln() + ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b);
    // The fraction is quick on the near side of the mean; the far side is its mirror.
    if x < (a + 1.0) / (a + b + 2.0) {
        front.exp() * fraction(x, a, b) / a
    } else {
        1.0 - front.exp() * fraction(1.0 - x, b, a) / b
    }
}

/// The share of Student's t that lies above `t` (0 or more), for `freedom` degrees of freedom.
#[must_use]
pub fn above(t: f64, freedom: f64) -> f64 {
    0.5 * beta(freedom / (freedom + t * t), 0.5 * freedom, 0.5)
}

/// The value that Student's t exceeds with this chance, from 0 to 0.5; `freedom` need not be whole.
#[must_use]
pub fn exceeded(chance: f64, freedom: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    while above(high, freedom) > chance && high < 1e15 {
        high *= 2.0;
    }
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if above(middle, freedom) > chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// How many standard uncertainties lie to either side in an interval of 95 %.
#[must_use]
pub fn coverage(freedom: f64) -> f64 {
    exceeded(0.025, freedom.min(ENDLESS))
}

/// Grubbs' limit: how many standard deviations one of `n` readings may stand from their mean before
/// it counts as apart, two-sided, with this chance of blaming a good one (ISO 5725-2; Grubbs, 1969).
/// `None` below three readings.
#[must_use]
pub fn grubbs(n: usize, chance: f64) -> Option<f64> {
    if n < 3 {
        return None;
    }
    #[allow(clippy::cast_precision_loss, reason = "readings are few")]
    let n = n as f64;
    let t = exceeded(chance / (2.0 * n), n - 2.0);
    Some((n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt())
}

/// Wilson's interval of 95 % for a share of which `hits` of `of` were seen (Wilson, 1927).
#[must_use]
pub fn wilson(hits: usize, of: usize) -> [f64; 2] {
    /// Quantile of the normal distribution.
    const Z: f64 = 1.959_963_985;
    if of == 0 {
        return [0.0, 1.0];
    }
    #[allow(clippy::cast_precision_loss, reason = "counts of cases")]
    let (k, n) = (hits as f64, of as f64);
    let p = k / n;
    let middle = p + Z * Z / (2.0 * n);
    let off = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    let scale = 1.0 + Z * Z / n;
    let ends = [(middle - off) / scale, (middle + off) / scale];
    ends.map(|v| v.clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, to its three decimals.
    #[test]
    fn quantiles_are_those_of_the_published_table() {
        for (freedom, at_975, at_995) in [
            (1.0, 12.706, 63.657),
            (2.0, 4.303, 9.925),
            (3.0, 3.182, 5.841),
            (4.0, 2.776, 4.604),
            (5.0, 2.571, 4.032),
            (9.0, 2.262, 3.250),
            (10.0, 2.228, 3.169),
            (20.0, 2.086, 2.845),
            (30.0, 2.042, 2.750),
            (60.0, 2.000, 2.660),
            (100.0, 1.984, 2.626),
            (ENDLESS, 1.960, 2.576),
        ] {
            let found = (exceeded(0.025, freedom), exceeded(0.005, freedom));
            assert!((found.0 - at_975).abs() < 6e-4, "{freedom}: {found:?}");
            assert!((found.1 - at_995).abs() < 6e-4, "{freedom}: {found:?}");
        }
    }

    // With one degree of freedom it is Cauchy's distribution: the chance above t is
    // 1/2 - atan(t)/pi; with two it is 1/2 - t / (2 sqrt(2 + t2)).
    #[test]
    fn one_and_two_degrees_are_exact() {
        for t in [0.0_f64, 0.3, 1.0, 2.5, 12.7, 1000.0] {
            let cauchy = 0.5 - t.atan() / std::f64::consts::PI;
            assert!((above(t, 1.0) - cauchy).abs() < 1e-12, "{t}");
            let two = 0.5 - t / (2.0 * (2.0 + t * t).sqrt());
            assert!((above(t, 2.0) - two).abs() < 1e-12, "{t}");
        }
    }

    // Two-sided limits at 5 % of the published tables: 1.155 for three readings, 1.481 for four,
    // 1.715 for five, 2.290 for ten.
    #[test]
    fn limits_for_readings_apart_are_those_of_the_tables() {
        for (n, limit) in [(3, 1.155), (4, 1.481), (5, 1.715), (10, 2.290)] {
            let found = grubbs(n, 0.05).unwrap();
            assert!((found - limit).abs() < 1.1e-3, "{n}: {found}");
        }
        assert_eq!(grubbs(2, 0.05), None);
    }

    // The centre of the interval of 5 in 10 is a half; of 0 in 10 it runs up to z2/(n + z2).
    #[test]
    fn shares_have_an_interval() {
        let [low, high] = wilson(5, 10);
        assert!((low + high - 1.0).abs() < 1e-12);
        let [low, high] = wilson(0, 10);
        assert!(low.abs() < 1e-12);
        assert!((high - 3.841_459 / 13.841_459).abs() < 1e-6);
        assert_eq!(wilson(0, 0), [0.0, 1.0]);
    }
}
