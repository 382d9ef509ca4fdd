//! e^x, e^x - 1 and ln x without a branch, so that a compiler can work out many at a time.
//!
//! - e^x = 2^n e^r, n the whole number nearest x/ln 2; e^r - 1 by its Taylor series to r^13, |r| <= ln(2)/2
//! - ln x = n ln 2 + ln m, x = 2^n m with m from sqrt(1/2) to sqrt(2); ln m = 2 artanh(s), s = (m - 1)/(m + 1), by its series to
//!   s^23, summed as f - f²/2 + s (f²/2 + R), f = m - 1, which keeps the digits of f
//!
//! Source: textbook series; the splitting of ln 2 in two and the form of the sum as in W. J. Cody & W. Waite (1980), "Software
//! Manual for the Elementary Functions" (from memory). Within two units of the last place of the standard library's
//! functions (tests below). Limits: e^x of x below -708 is that of -708, above 709 that of 709; ln of what is not positive and finite,
//! subnormal numbers apart, is NaN.

/// ln 2 in two parts, the first with zeros at its end, so that its product with a small whole number is exact.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);

/// 1.5 · 2^52: a small number added to it is rounded to a whole one, which stands in its last bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;

/// Bits of the fraction of a double, and the bias of its exponent.
const FRACTION: u32 = 52;
const BIAS: u64 = 1023;

/// 1/13!, 1/12!, .., 1/2!.
const FACTORIALS: [f64; 12] = [
    1.0 / 6_227_020_800.0,
    1.0 / 479_001_600.0,
    1.0 / 39_916_800.0,
    1.0 / 3_628_800.0,
    1.0 / 362_880.0,
    1.0 / 40_320.0,
    1.0 / 5_040.0,
    1.0 / 720.0,
    1.0 / 120.0,
    1.0 / 24.0,
    1.0 / 6.0,
    1.0 / 2.0,
];

/// 2/23, 2/21, .., 2/3.
const ODD: [f64; 11] = [
    2.0 / 23.0,
    2.0 / 21.0,
    2.0 / 19.0,
    2.0 / 17.0,
    2.0 / 15.0,
    2.0 / 13.0,
    2.0 / 11.0,
    2.0 / 9.0,
    2.0 / 7.0,
    2.0 / 5.0,
    2.0 / 3.0,
];

/// The polynomial with these coefficients, highest power first, at `x`.
#[inline(always)]
pub(super) fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    let mut sum = coefficients[0];
    let mut i = 1;
    while i < N {
        sum = sum * x + coefficients[i];
        i += 1;
    }
    sum
}

/// (e^r - 1, 2^n) of e^x = 2^n e^r.
#[inline(always)]
fn split(x: f64) -> (f64, f64) {
    // Written so that NaN stays NaN.
    let x = if x < -708.0 { -708.0 } else { x };
    let x = if x > 709.0 { 709.0 } else { x };
    let shifted = x * std::f64::consts::LOG2_E + ROUNDER;
    let n = shifted - ROUNDER;
    let r = (x - n * LN_2.0) - n * LN_2.1;
    let power = f64::from_bits(shifted.to_bits().wrapping_add(BIAS) << FRACTION);
    (polynomial(&FACTORIALS, r) * (r * r) + r, power)
}

/// e^x.
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let (rest, power) = split(x);
    power * rest + power
}

/// e^x - 1, exact near zero.
#[inline(always)]
pub fn exp_m1(x: f64) -> f64 {
    let (rest, power) = split(x);
    power * rest + (power - 1.0)
}

/// Natural logarithm.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    // From the bits of sqrt(1/2) to those of one.
    const TO_ONE: u64 = 0x3ff0_0000_0000_0000 - 0x3fe6_a09e_667f_3bcd;
    let bits = x.to_bits();
    let biased = bits.wrapping_add(TO_ONE) >> FRACTION;
    let n = f64::from_bits(ROUNDER.to_bits().wrapping_add(biased)) - (ROUNDER + BIAS as f64);
    let m = f64::from_bits(bits.wrapping_sub(biased.wrapping_sub(BIAS) << FRACTION));
    let f = m - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let half_square = 0.5 * f * f;
    let rest = polynomial(&ODD, z) * z;
    let sum = n * LN_2.0 - ((half_square - (s * (half_square + rest) + n * LN_2.1)) - f);
    if (x > 0.0) & (x < f64::INFINITY) { sum } else { f64::NAN }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The most units of the last place by which `ours` and `theirs` differ at `count` places, place by place.
    fn furthest(count: u32, at: impl Fn(f64) -> f64, ours: fn(f64) -> f64, theirs: fn(f64) -> f64) -> f64 {
        (0..=count)
            .map(|i| at(f64::from(i) / f64::from(count)))
            .map(|x| ((ours(x) - theirs(x)) / theirs(x)).abs() / f64::EPSILON)
            .fold(0.0, f64::max)
    }

    #[test]
    fn functions_are_those_of_the_standard_library() {
        const COUNT: u32 = 100_003;
        let wide = |share: f64| -700.0 + 1400.0 * share;
        let near = |share: f64| -3.0 + 6.0 * share;
        let size = |share: f64| 10f64.powf(-300.0 + 600.0 * share);
        let about_one = |share: f64| 0.2 + 3.0 * share;
        let small = |share: f64| (share - 0.5) * 1e-6;
        for (name, off) in [
            ("e^x", furthest(COUNT, wide, exp, f64::exp)),
            ("e^x - 1", furthest(COUNT, near, exp_m1, f64::exp_m1)),
            ("e^x - 1, small x", furthest(COUNT, small, exp_m1, f64::exp_m1)),
            ("ln x", furthest(COUNT, size, ln, f64::ln)),
            ("ln x near one", furthest(COUNT, about_one, ln, f64::ln)),
        ] {
            println!("{name}: {off:.2}");
            assert!(off < 2.0, "{name}: {off} units of the last place");
        }
    }

    #[test]
    fn what_is_out_of_range_is_bounded_or_no_number() {
        for f in [exp, exp_m1, ln] {
            assert!(f(f64::NAN).is_nan());
        }
        assert_eq!((exp(-1e9), exp(1e9), exp_m1(-1e9)), (exp(-708.0), exp(709.0), -1.0));
        assert_eq!((exp(0.0), exp_m1(0.0), ln(1.0)), (1.0, 0.0, 0.0));
        for x in [0.0, -1.0, f64::INFINITY] {
            assert!(ln(x).is_nan(), "{x}");
        }
    }
}
