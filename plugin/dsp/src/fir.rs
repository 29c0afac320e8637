//! The two inner loops of the core: a block of samples through one kernel row, and one sample through two rows.
//!
//! Every output is summed in an order that depends on the kernel alone, so that any split of a block gives the same
//! bits. The loops are compiled twice on x86-64 (with and without AVX2 and fused multiply-add) and chosen at run time.

/// Outputs worked on at once: fills eight 256-bit registers.
const TILE: usize = 64;
/// Outputs worked on at once near the end of a block.
const SMALL_TILE: usize = 8;
/// Partial sums of one dot product: two 256-bit registers a row.
const LANES: usize = 16;

/// How a product joins a sum.
trait Arithmetic {
    fn add(sum: f32, tap: f32, sample: f32) -> f32;
}

/// One rounding; fast only where the processor has it.
#[allow(dead_code)]
struct Fused;
/// Two roundings, on any processor.
#[allow(dead_code)]
struct Separate;

impl Arithmetic for Fused {
    #[inline(always)]
    fn add(sum: f32, tap: f32, sample: f32) -> f32 {
        tap.mul_add(sample, sum)
    }
}

impl Arithmetic for Separate {
    #[inline(always)]
    fn add(sum: f32, tap: f32, sample: f32) -> f32 {
        tap * sample + sum
    }
}

#[cfg(target_arch = "aarch64")]
type Portable = Fused;
#[cfg(not(target_arch = "aarch64"))]
type Portable = Separate;

/// `out[i]` = the sum of `row[m]` times `span[i + m]`. `span` has `out.len() + row.len() - 1` samples.
pub fn filter_block(row: &[f32], span: &[f32], out: &mut [f32]) {
    #[cfg(target_arch = "x86_64")]
    if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
        // SAFETY: both features were just found on this processor.
        return unsafe { filter_block_avx2(row, span, out) };
    }
    filter_block_body::<Portable>(row, span, out);
}

/// `span` through the first and the second half of `rows`, `between` (0 to 1) of the way from one to the other.
/// `span` is half as long as `rows`, a multiple of 16.
#[inline]
pub fn filter_between(rows: &[f32], between: f32, span: &[f32]) -> f32 {
    #[cfg(target_arch = "x86_64")]
    if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
        // SAFETY: both features were just found on this processor.
        return unsafe { filter_between_avx2(rows, between, span) };
    }
    filter_between_body::<Portable>(rows, between, span)
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn filter_block_avx2(row: &[f32], span: &[f32], out: &mut [f32]) {
    filter_block_body::<Fused>(row, span, out);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn filter_between_avx2(rows: &[f32], between: f32, span: &[f32]) -> f32 {
    filter_between_body::<Fused>(rows, between, span)
}

#[inline(always)]
fn filter_block_body<A: Arithmetic>(row: &[f32], span: &[f32], out: &mut [f32]) {
    let done = filter_tiles::<A, TILE>(row, span, out);
    let (span, out) = (&span[done..], &mut out[done..]);
    let done = filter_tiles::<A, SMALL_TILE>(row, span, out);
    filter_tiles::<A, 1>(row, &span[done..], &mut out[done..]);
}

/// As many whole tiles as fit; returns the outputs done.
#[inline(always)]
fn filter_tiles<A: Arithmetic, const WIDTH: usize>(
    row: &[f32],
    span: &[f32],
    out: &mut [f32],
) -> usize {
    let (tiles, _) = out.as_chunks_mut::<WIDTH>();
    let done = tiles.len() * WIDTH;
    for (index, tile) in tiles.iter_mut().enumerate() {
        *tile = filter_tile::<A, WIDTH>(row, &span[index * WIDTH..]);
    }
    done
}

#[inline(always)]
fn filter_tile<A: Arithmetic, const WIDTH: usize>(row: &[f32], span: &[f32]) -> [f32; WIDTH] {
    let mut sums = [0.0f32; WIDTH];
    for (&tap, window) in row.iter().zip(span.windows(WIDTH)) {
        for (sum, &sample) in sums.iter_mut().zip(window) {
            *sum = A::add(*sum, tap, sample);
        }
    }
    sums
}

#[inline(always)]
fn filter_between_body<A: Arithmetic>(rows: &[f32], between: f32, span: &[f32]) -> f32 {
    let (before, after) = rows.split_at(span.len());
    let (span, _) = span.as_chunks::<LANES>();
    let (before, _) = before.as_chunks::<LANES>();
    let (after, _) = after.as_chunks::<LANES>();
    let (mut low, mut high) = ([0.0f32; LANES], [0.0f32; LANES]);
    for ((samples, before), after) in span.iter().zip(before).zip(after) {
        for lane in 0..LANES {
            low[lane] = A::add(low[lane], before[lane], samples[lane]);
            high[lane] = A::add(high[lane], after[lane], samples[lane]);
        }
    }
    let (low, high) = (total(low), total(high));
    low + between * (high - low)
}

#[inline(always)]
fn total(mut lanes: [f32; LANES]) -> f32 {
    let mut width = LANES / 2;
    while width > 0 {
        for lane in 0..width {
            lanes[lane] += lanes[lane + width];
        }
        width /= 2;
    }
    lanes[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(count: usize) -> Vec<f32> {
        let mut state = 1u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            state as f32 / u32::MAX as f32 - 0.5
        };
        (0..count).map(|_| next()).collect()
    }

    #[test]
    fn a_block_equals_its_samples_one_by_one() {
        let row = noise(64);
        let span = noise(63 + 203);
        let mut whole = vec![0.0; 203];
        filter_block(&row, &span, &mut whole);
        for (i, want) in whole.iter().enumerate() {
            let mut one = [0.0];
            filter_block(&row, &span[i..i + 64], &mut one);
            assert_eq!(one[0].to_bits(), want.to_bits(), "output {i}");
            let slow: f64 = (0..64)
                .map(|m| f64::from(row[m]) * f64::from(span[i + m]))
                .sum();
            assert!((slow - f64::from(*want)).abs() < 1e-6);
        }
    }

    #[test]
    fn between_two_rows() {
        let (rows, span) = (noise(192), noise(96));
        let dot = |row: &[f32]| -> f32 { row.iter().zip(&span).map(|(a, b)| a * b).sum() };
        let want = 0.75 * dot(&rows[..96]) + 0.25 * dot(&rows[96..]);
        assert!((filter_between(&rows, 0.25, &span) - want).abs() < 1e-5);
    }
}
