//! The tones of ink and paper.

use super::decode::Picture;

/// Grey levels told apart by the histogram.
const BINS: usize = 256;

/// The levels of flat ink and flat paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tones {
    /// Ink.
    pub ink: f64,
    /// Paper.
    pub paper: f64,
}

impl Tones {
    /// Edges blend ink into paper evenly, so an edge lies halfway between them.
    #[must_use]
    pub const fn middle(&self) -> f64 {
        f64::midpoint(self.ink, self.paper)
    }

    /// Whether ink and paper are at least a twelfth of the scale apart: less is
    /// noise of a blank sheet (common practice, no source).
    #[must_use]
    pub fn stand_out(&self) -> bool {
        self.paper - self.ink > 1.0 / 12.0
    }
}

/// The tones of a picture, told apart at grey level `parting` or, without one,
/// at the level that best parts it in two (see [`otsu`]).
#[must_use]
pub fn tones(picture: &Picture, parting: Option<f64>) -> Tones {
    let histogram = histogram(picture);
    let parting = parting.map_or_else(|| otsu(&histogram).0, |level| level * (BINS - 1) as f64);
    Tones { ink: median(&histogram, parting, true), paper: median(&histogram, parting, false) }
}

/// Whether the picture is two flat tones and little else, so that one level
/// parts them everywhere. Parted at the best level, clean drawings, small ones,
/// light ink and noisy scans keep at least 0.96 of their variance between the
/// tones, sheets lit unevenly at most 0.94 (measured on drawn and spoilt faces).
#[must_use]
pub fn two_flat_tones(picture: &Picture) -> bool {
    otsu(&histogram(picture)).1 > 0.95
}

fn histogram(picture: &Picture) -> [u64; BINS] {
    let mut histogram = [0u64; BINS];
    for &level in &picture.levels {
        histogram[bin(level)] += 1;
    }
    histogram
}

/// The bin that best parts the histogram in two, and the share of the variance
/// that lies between the parts, `0.0..=1.0`: Otsu, "A Threshold Selection
/// Method from Gray-Level Histograms", IEEE Trans. SMC 9 (1979) 62–66. Where
/// whole levels between ink and paper are empty, the middle of the gap.
fn otsu(histogram: &[u64; BINS]) -> (f64, f64) {
    let total: u64 = histogram.iter().sum();
    let sum: f64 = histogram.iter().enumerate().map(|(i, &n)| i as f64 * n as f64).sum();
    let (mut below, mut sum_below, mut best) = (0u64, 0.0, Vec::new());
    let mut most = -1.0;
    for (i, &n) in histogram.iter().enumerate() {
        below += n;
        sum_below += i as f64 * n as f64;
        let above = total - below;
        if below == 0 || above == 0 {
            continue;
        }
        let gap = sum_below / below as f64 - (sum - sum_below) / above as f64;
        let between = below as f64 * above as f64 * gap * gap;
        if between > most * (1.0 + 1e-12) {
            (most, best) = (between, vec![i]);
        } else if between >= most * (1.0 - 1e-12) {
            best.push(i);
        }
    }
    let mean = sum / total as f64;
    let spread: f64 = histogram.iter().enumerate().map(|(i, &n)| n as f64 * (i as f64 - mean).powi(2)).sum();
    let share = if spread > 0.0 { most / total as f64 / spread } else { 0.0 };
    (best.iter().sum::<usize>() as f64 / best.len().max(1) as f64, share)
}

/// The level half of the ink (or of the paper) is darker than: what a flat patch
/// of it looks like, edges aside.
fn median(histogram: &[u64; BINS], parting: f64, ink: bool) -> f64 {
    let own = |i: &usize| (*i as f64 <= parting) == ink;
    let total: u64 = (0..BINS).filter(own).map(|i| histogram[i]).sum();
    if total == 0 {
        // One tone only: nothing stands out from it.
        return median(histogram, parting, !ink);
    }
    let mut below = 0;
    let bin = (0..BINS).filter(own).find(|&i| {
        below += histogram[i];
        2 * below >= total
    });
    bin.map_or(parting, |i| i as f64) / (BINS - 1) as f64
}

fn bin(level: f32) -> usize {
    ((level.clamp(0.0, 1.0) * 255.0).round() as usize).min(BINS - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(width: usize, height: usize, level: impl Fn(usize, usize) -> f32) -> Picture {
        let levels = (0..width * height).map(|i| level(i % width, i / width)).collect();
        Picture { width, height, levels, dpi: None }
    }

    #[test]
    fn the_threshold_lies_halfway_between_ink_and_paper() {
        let two = tones(&picture(40, 40, |x, _| if x < 10 { 0.2 } else { 0.8 }), None);
        assert!((two.middle() - 0.5).abs() < 1e-3 && two.stand_out(), "{two:?}");
        let blank = tones(&picture(40, 40, |x, y| 0.9 + ((x * 7 + y * 3) % 5) as f32 * 0.005), None);
        assert!(!blank.stand_out(), "a blank sheet has no ink: {blank:?}");
        assert!(!tones(&picture(9, 9, |_, _| 0.3), None).stand_out(), "nor has a grey one");
    }
}
