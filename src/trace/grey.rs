//! Grey levels: even lighting, the threshold, and a little smoothing.

use super::decode::Picture;

/// Grey levels told apart by the histogram.
const BINS: usize = 256;

/// The level that best parts the picture in two: Otsu, "A Threshold Selection
/// Method from Gray-Level Histograms", IEEE Trans. SMC 9 (1979) 62–66. Where
/// whole levels between ink and paper are empty, the middle of the gap.
#[must_use]
pub fn otsu(picture: &Picture) -> f64 {
    let mut histogram = [0u64; BINS];
    for &level in &picture.levels {
        histogram[bin(level)] += 1;
    }
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
    let middle = best.iter().sum::<usize>() as f64 / best.len().max(1) as f64;
    let classes = means(picture, (middle + 0.5) / 255.0);
    // Edges blend ink into paper evenly, so an edge lies halfway between them.
    f64::midpoint(classes.0, classes.1)
}

fn bin(level: f32) -> usize {
    ((level.clamp(0.0, 1.0) * 255.0).round() as usize).min(BINS - 1)
}

/// Mean level of the ink and of the paper.
fn means(picture: &Picture, threshold: f64) -> (f64, f64) {
    let mean = |ink: bool| {
        let levels = picture.levels.iter().map(|&l| f64::from(l)).filter(|&l| (l < threshold) == ink);
        let (sum, count) = levels.fold((0.0, 0u64), |(s, n), l| (s + l, n + 1));
        if count == 0 { threshold } else { sum / count as f64 }
    };
    (mean(true), mean(false))
}

/// Whether ink and paper are at least a twelfth of the scale apart: less is
/// noise of a blank sheet (common practice, no source).
#[must_use]
pub fn stands_out(picture: &Picture, threshold: f64) -> bool {
    let (ink, paper) = means(picture, threshold);
    let some_ink = picture.levels.iter().any(|&level| f64::from(level) < threshold);
    some_ink && paper - ink > 1.0 / 12.0
}

/// Blocks the lighting is measured in: a 24th of the longer side.
const BLOCKS: usize = 24;
/// Paper this much darker in one corner than another is lit unevenly.
const UNEVEN: f32 = 0.12;

/// Divides out the paper's own brightness when it varies over the sheet, and
/// says whether it did. The paper is the bright end of each block; a block all
/// ink takes its neighbours'. Left alone where most of the sheet is dark, since
/// then nothing tells paper from ink.
#[must_use]
pub fn even_lighting(picture: Picture) -> (Picture, bool) {
    let size = picture.width.max(picture.height).div_ceil(BLOCKS).max(8);
    let (across, down) = (picture.width.div_ceil(size), picture.height.div_ceil(size));
    let mut paper: Vec<f32> = (0..across * down).map(|i| bright_end(&picture, i % across, i / across, size)).collect();
    let mut sorted = paper.clone();
    sorted.sort_by(f32::total_cmp);
    let (median, high) = (sorted[sorted.len() / 2], sorted[sorted.len() * 9 / 10]);
    if median < 0.35 || across < 3 || down < 3 {
        return (picture, false);
    }
    fill_ink(&mut paper, across, down, median * 0.55);
    let low = paper.iter().copied().fold(f32::MAX, f32::min);
    if high - low < UNEVEN {
        return (picture, false);
    }
    (divided(picture, &paper, across, down, size), true)
}

/// The level nine tenths of a block's pixels stay under.
fn bright_end(picture: &Picture, column: usize, row: usize, size: usize) -> f32 {
    let (x0, y0) = (column * size, row * size);
    let (x1, y1) = ((x0 + size).min(picture.width), (y0 + size).min(picture.height));
    let mut levels: Vec<f32> =
        (y0..y1).flat_map(|y| picture.levels[y * picture.width + x0..y * picture.width + x1].iter().copied()).collect();
    levels.sort_by(f32::total_cmp);
    levels[levels.len() * 9 / 10]
}

/// Blocks darker than `least` are ink; each takes the mean of its lit
/// neighbours, from the lit ones inward.
fn fill_ink(paper: &mut [f32], across: usize, down: usize, least: f32) {
    let mut known: Vec<bool> = paper.iter().map(|&p| p >= least).collect();
    while known.iter().any(|&k| k) && known.iter().any(|&k| !k) {
        let before = known.clone();
        for i in 0..paper.len() {
            if before[i] {
                continue;
            }
            let lit: Vec<f32> =
                neighbours(i, across, down).into_iter().filter(|&j| before[j]).map(|j| paper[j]).collect();
            if !lit.is_empty() {
                paper[i] = lit.iter().sum::<f32>() / lit.len() as f32;
                known[i] = true;
            }
        }
    }
}

fn neighbours(i: usize, across: usize, down: usize) -> Vec<usize> {
    let (x, y) = (i % across, i / across);
    let columns = x.saturating_sub(1)..=(x + 1).min(across - 1);
    columns.flat_map(|cx| (y.saturating_sub(1)..=(y + 1).min(down - 1)).map(move |cy| cy * across + cx)).collect()
}

fn divided(mut picture: Picture, paper: &[f32], across: usize, down: usize, size: usize) -> Picture {
    for y in 0..picture.height {
        for x in 0..picture.width {
            let level = &mut picture.levels[y * picture.width + x];
            *level = (*level / between_blocks(paper, across, down, x, y, size)).clamp(0.0, 1.0);
        }
    }
    picture
}

/// The paper's level at a pixel, straight between the middles of the blocks.
fn between_blocks(paper: &[f32], across: usize, down: usize, x: usize, y: usize, size: usize) -> f32 {
    let place = |p: usize, count: usize| {
        let at = ((p as f32 + 0.5) / size as f32 - 0.5).clamp(0.0, (count - 1) as f32);
        let low = (at.floor() as usize).min(count.saturating_sub(2));
        (low, (low + 1).min(count - 1), at - low as f32)
    };
    let ((x0, x1, fx), (y0, y1, fy)) = (place(x, across), place(y, down));
    let row = |y: usize| paper[y * across + x0] * (1.0 - fx) + paper[y * across + x1] * fx;
    (row(y0) * (1.0 - fy) + row(y1) * fy).max(0.05)
}

/// Smooths by what the picture needs: a clean picture with soft edges is left
/// as it is; hard black-and-white steps and noise are blurred by a Gaussian of
/// about a pixel, which turns the steps into edges that can be measured.
#[must_use]
pub fn smoothed(picture: &Picture) -> Picture {
    let sigma = needed_blur(picture);
    if sigma == 0.0 { picture.clone() } else { blurred(picture, sigma) }
}

/// Standard deviation of the blur, pixels. From experiment on the demo faces
/// rendered with soft edges, with hard edges and as noisy JPEG.
fn needed_blur(picture: &Picture) -> f32 {
    let noise = noise(picture);
    let soft = picture.levels.iter().filter(|&&l| (0.15..0.85).contains(&l)).count();
    let edges = edge_pixels(picture).max(1);
    let hard = (soft as f64) < 0.2 * edges as f64;
    if hard {
        1.0
    } else if noise > 0.004 {
        0.7
    } else {
        0.0
    }
}

/// Median step between neighbours where the picture is nearly flat.
fn noise(picture: &Picture) -> f32 {
    let rows = picture.levels.chunks_exact(picture.width).step_by(7);
    let mut steps: Vec<f32> = rows
        .flat_map(|row| row.windows(2).map(|pair| (pair[1] - pair[0]).abs()).filter(|&s| s > 0.0 && s < 0.1))
        .collect();
    let flat = picture.levels.len() / 7;
    if steps.len() * 5 < flat {
        return 0.0;
    }
    steps.sort_by(f32::total_cmp);
    steps[steps.len() / 2]
}

fn edge_pixels(picture: &Picture) -> usize {
    let rows = picture.levels.chunks_exact(picture.width);
    rows.map(|row| row.windows(2).filter(|pair| (pair[0] < 0.5) != (pair[1] < 0.5)).count()).sum()
}

fn blurred(picture: &Picture, sigma: f32) -> Picture {
    let radius = (3.0 * sigma).ceil() as i64;
    let mut kernel: Vec<f32> =
        (-radius..=radius).map(|d| libm::expf(-(d * d) as f32 / (2.0 * sigma * sigma))).collect();
    let sum: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);
    let pass = |source: &Picture, dx: i64, dy: i64| -> Picture {
        let mut out = source.clone();
        for y in 0..source.height as i64 {
            for x in 0..source.width as i64 {
                let sum = kernel.iter().zip(-radius..).map(|(k, d)| k * source.at(x + d * dx, y + d * dy)).sum();
                out.levels[y as usize * source.width + x as usize] = sum;
            }
        }
        out
    };
    pass(&pass(picture, 1, 0), 0, 1)
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
        let two = picture(40, 40, |x, _| if x < 10 { 0.2 } else { 0.8 });
        assert!((otsu(&two) - 0.5).abs() < 1e-3, "{}", otsu(&two));
        assert!(stands_out(&two, 0.5), "plain to see");
        let blank = picture(40, 40, |x, y| 0.9 + ((x * 7 + y * 3) % 5) as f32 * 0.005);
        assert!(!stands_out(&blank, otsu(&blank)), "a blank sheet has no ink");
    }

    #[test]
    fn a_shadow_over_the_sheet_is_divided_out() {
        let ink = |x: usize, y: usize| (100..140).contains(&x) && (60..240).contains(&y);
        let lit = |x: usize, _y: usize| 1.0 - 0.6 * x as f32 / 300.0;
        let shadowed = picture(300, 300, |x, y| if ink(x, y) { 0.15 * lit(x, y) } else { lit(x, y) });
        let (even, was) = even_lighting(shadowed);
        assert!(was, "seen to be uneven");
        let threshold = otsu(&even) as f32;
        let wrong = (0..300 * 300).filter(|i| (even.levels[*i] < threshold) != ink(i % 300, i / 300)).count();
        assert_eq!(wrong, 0, "every pixel falls on its side");
    }

    #[test]
    fn an_evenly_lit_sheet_is_left_alone() {
        let plain = picture(300, 300, |x, y| if (x / 50 + y / 50) % 2 == 0 { 0.0 } else { 1.0 });
        assert!(!even_lighting(plain).1, "ink is not shadow");
    }
}
