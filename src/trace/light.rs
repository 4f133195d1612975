//! Even lighting: a photograph of a drawing is brighter on one side.

use super::decode::Picture;
use super::grey::two_flat_tones;

/// Blocks the lighting is measured in: a 24th of the longer side.
const BLOCKS: usize = 24;
/// Paper this much darker in one corner than another is lit unevenly.
const UNEVEN: f32 = 0.12;

/// Divides out the paper's own brightness when it varies over the sheet, and
/// says whether it did. The paper is the bright end of each block; a block all
/// ink takes its neighbours'. Left alone where most of the sheet is dark, since
/// then nothing tells paper from ink, and where two flat tones are all there is:
/// light ink in patches larger than a block would pass for paper in shadow.
#[must_use]
pub fn even_lighting(picture: Picture) -> (Picture, bool) {
    if two_flat_tones(&picture) {
        return (picture, false);
    }
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

/// The level nine tenths of a block's pixels stay under, from every other one.
fn bright_end(picture: &Picture, column: usize, row: usize, size: usize) -> f32 {
    let (x0, y0) = (column * size, row * size);
    let (x1, y1) = ((x0 + size).min(picture.width), (y0 + size).min(picture.height));
    let row = |y: usize| picture.levels[y * picture.width + x0..y * picture.width + x1].iter().copied().step_by(2);
    let mut levels: Vec<f32> = (y0..y1).step_by(2).flat_map(row).collect();
    let place = levels.len() * 9 / 10;
    *levels.select_nth_unstable_by(place, f32::total_cmp).1
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::grey::tones;

    fn picture(width: usize, height: usize, level: impl Fn(usize, usize) -> f32) -> Picture {
        let levels = (0..width * height).map(|i| level(i % width, i / width)).collect();
        Picture { width, height, levels, dpi: None }
    }

    #[test]
    fn a_shadow_over_the_sheet_is_divided_out() {
        let ink = |x: usize, y: usize| (100..140).contains(&x) && (60..240).contains(&y);
        let lit = |x: usize, _y: usize| 1.0 - 0.6 * x as f32 / 300.0;
        let shadowed = picture(300, 300, |x, y| if ink(x, y) { 0.15 * lit(x, y) } else { lit(x, y) });
        let (even, was) = even_lighting(shadowed);
        assert!(was, "seen to be uneven");
        let threshold = tones(&even, None).middle() as f32;
        let wrong = (0..300 * 300).filter(|i| (even.levels[*i] < threshold) != ink(i % 300, i / 300)).count();
        assert_eq!(wrong, 0, "every pixel falls on its side");
    }

    #[test]
    fn an_evenly_lit_sheet_is_left_alone() {
        let plain = picture(300, 300, |x, y| if (x / 50 + y / 50) % 2 == 0 { 0.0 } else { 1.0 });
        assert!(!even_lighting(plain).1, "ink is not shadow");
    }

    /// Blocks all ink, lighter than half the paper, were divided out as shadow.
    #[test]
    fn a_patch_of_light_ink_is_not_a_shadow() {
        for (level, size) in [(0.59, 400), (0.86, 400), (0.0, 80)] {
            let ink = |x: usize, y: usize| {
                let (x, y) = (x as f32 / size as f32 - 0.5, y as f32 / size as f32 - 0.5);
                (x * x + y * y).sqrt() < 0.3
            };
            let noise = |x: usize, y: usize| ((x * 7 + y * 13) % 5) as f32 * 0.005;
            let drawn = picture(size, size, |x, y| if ink(x, y) { level + noise(x, y) } else { 0.98 + noise(x, y) });
            assert!(!even_lighting(drawn).1, "ink of level {level}, {size} pixels");
        }
    }
}
