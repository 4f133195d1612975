//! How ink meets paper, and the smoothing that asks for.

use super::decode::Picture;
use super::grey::Tones;

/// How the edges of a picture look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edges {
    /// Blended and clean, as drawing programs write them: a pixel's level says
    /// how much of it is ink.
    Blended,
    /// Blended and noisy, as cameras and JPEG leave them.
    Noisy,
    /// Every pixel ink or paper: edges are steps up to half a pixel off.
    Hard,
}

impl Edges {
    /// Standard deviation of the Gaussian that makes such edges measurable,
    /// pixels. From experiment on the demo faces.
    #[must_use]
    pub const fn blur(self) -> f64 {
        match self {
            Self::Blended => 0.0,
            Self::Noisy => 0.7,
            Self::Hard => 1.0,
        }
    }

    /// How far the contour may stand off the drawn edge for that reason alone,
    /// pixels.
    #[must_use]
    pub const fn step(self) -> f64 {
        if matches!(self, Self::Hard) { 0.3 } else { 0.0 }
    }

    /// Looks at a picture.
    #[must_use]
    pub fn of(picture: &Picture, tones: Tones) -> Self {
        let share = |level: f32| (f64::from(level) - tones.ink) / (tones.paper - tones.ink);
        let (mut between, mut crossings) = (0_u64, 1_u64);
        for row in picture.levels.chunks_exact(picture.width) {
            between += row.iter().filter(|&&l| (0.15..0.85).contains(&share(l))).count() as u64;
            crossings += row.windows(2).filter(|p| (share(p[0]) < 0.5) != (share(p[1]) < 0.5)).count() as u64;
        }
        if between * 5 < crossings {
            Self::Hard
        } else if noise(picture) > 0.004 {
            Self::Noisy
        } else {
            Self::Blended
        }
    }
}

/// Median step between neighbours where the picture is nearly flat; nothing
/// where most neighbours are equal.
fn noise(picture: &Picture) -> f32 {
    let rows = picture.levels.chunks_exact(picture.width).step_by(7);
    let step = |pair: &[f32]| (pair[1] - pair[0]).abs();
    let mut steps: Vec<f32> = rows.flat_map(|row| row.windows(2).map(step).filter(|&s| s > 0.0 && s < 0.1)).collect();
    if steps.is_empty() || steps.len() * 5 < picture.levels.len() / 7 {
        return 0.0;
    }
    let middle = steps.len() / 2;
    *steps.select_nth_unstable_by(middle, f32::total_cmp).1
}

/// The picture blurred by a Gaussian of this standard deviation, pixels; paper
/// lies beyond its borders.
#[must_use]
pub fn blurred(picture: Picture, sigma: f64) -> Picture {
    if sigma == 0.0 {
        return picture;
    }
    let radius = (3.0 * sigma).ceil() as i32;
    let mut kernel: Vec<f32> =
        (-radius..=radius).map(|d| libm::exp(-f64::from(d * d) / (2.0 * sigma * sigma)) as f32).collect();
    let sum: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);
    downward(&across(picture, &kernel), &kernel)
}

fn across(mut picture: Picture, kernel: &[f32]) -> Picture {
    let radius = kernel.len() / 2;
    let mut padded = vec![1.0; picture.width + 2 * radius];
    for row in picture.levels.chunks_exact_mut(picture.width) {
        padded[radius..radius + row.len()].copy_from_slice(row);
        for (out, window) in row.iter_mut().zip(padded.windows(kernel.len())) {
            *out = window.iter().zip(kernel).map(|(l, k)| l * k).sum();
        }
    }
    picture
}

fn downward(picture: &Picture, kernel: &[f32]) -> Picture {
    let radius = kernel.len() / 2;
    let paper = vec![1.0; picture.width];
    let row = |y: usize| match y.checked_sub(radius) {
        Some(y) if y < picture.height => &picture.levels[y * picture.width..(y + 1) * picture.width],
        _ => &paper,
    };
    let mut levels = vec![0.0; picture.levels.len()];
    for (y, out) in levels.chunks_exact_mut(picture.width).enumerate() {
        for (d, k) in kernel.iter().enumerate() {
            out.iter_mut().zip(row(y + d)).for_each(|(o, l)| *o += k * l);
        }
    }
    Picture { levels, ..*picture }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TONES: Tones = Tones { ink: 0.0, paper: 1.0 };

    fn picture(level: impl Fn(usize, usize) -> f32) -> Picture {
        let levels = (0..100 * 60).map(|i| level(i % 100, i / 100)).collect();
        Picture { width: 100, height: 60, levels, dpi: None }
    }

    #[test]
    fn edges_are_told_apart() {
        let ramp = |x: usize| (x as f32 - 50.0).clamp(0.0, 3.0) / 3.0;
        assert_eq!(Edges::of(&picture(|x, _| f32::from(x > 50)), TONES), Edges::Hard);
        assert_eq!(Edges::of(&picture(|x, _| ramp(x)), TONES), Edges::Blended);
        let grain = |x: usize, y: usize| ((x * 7919 + y * 104_729) % 31) as f32 / 1000.0;
        assert_eq!(Edges::of(&picture(|x, y| ramp(x) * 0.96 + grain(x, y)), TONES), Edges::Noisy);
    }

    #[test]
    fn a_blur_keeps_the_ink_and_spreads_it_evenly() {
        let dot = blurred(picture(|x, y| if (x, y) == (40, 30) { 0.0 } else { 1.0 }), 1.0);
        let ink: f32 = dot.levels.iter().map(|l| 1.0 - l).sum();
        assert!((ink - 1.0).abs() < 1e-3, "{ink}");
        assert!((dot.at(39, 30) - dot.at(40, 31)).abs() < 1e-6, "the same sideways and down");
        let edge = blurred(picture(|_, _| 1.0), 1.0);
        assert!(edge.levels.iter().all(|l| (l - 1.0).abs() < 1e-5), "paper stays paper at the border");
    }
}
