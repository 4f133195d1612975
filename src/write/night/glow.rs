//! Light that spreads: blurred copies of what is lit.

/// One number for each pixel, row by row from the top.
#[derive(Clone, Debug)]
pub(super) struct Plane {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) data: Vec<f32>,
}

/// How much smaller the planes are that the glow is reckoned on.
const COARSE: usize = 4;
/// Radii of the two glows, mm: close round the openings, and wide.
const RADII: [f64; 2] = [3.0, 22.0];

/// The lit pixels on a coarse grid, three colours.
pub(super) struct Light {
    width: usize,
    planes: [Plane; 3],
}

impl Light {
    pub(super) fn new(width: usize, height: usize) -> Self {
        let (w, h) = (width.div_ceil(COARSE), height.div_ceil(COARSE));
        let plane = Plane { width: w, height: h, data: vec![0.0; w * h] };
        Self { width: w, planes: [plane.clone(), plane.clone(), plane] }
    }

    pub(super) fn set(&mut self, x: usize, y: usize, colour: [f32; 3]) {
        let index = (y / COARSE) * self.width + x / COARSE;
        for (plane, c) in self.planes.iter_mut().zip(colour) {
            plane.data[index] += c / (COARSE * COARSE) as f32;
        }
    }

    /// The glow of both radii; `scale` is pixels a millimetre.
    pub(super) fn glow(&self, scale: f64) -> Glow {
        let blurred = |mm: f64| {
            let radius = (mm * scale / COARSE as f64).round().max(1.0) as usize;
            self.planes.clone().map(|plane| plane.blurred(radius))
        };
        Glow { planes: RADII.map(blurred) }
    }
}

/// Blurred light, near and wide.
pub(super) struct Glow {
    planes: [[Plane; 3]; 2],
}

impl Glow {
    /// Both glows at a pixel of the full picture.
    pub(super) fn at(&self, x: usize, y: usize) -> [[f32; 3]; 2] {
        let coarse = |v: usize| (v as f32 + 0.5) / COARSE as f32 - 0.5;
        let (x, y) = (coarse(x), coarse(y));
        [0, 1].map(|size| [0, 1, 2].map(|i| self.planes[size][i].between(x, y)))
    }
}

impl Plane {
    /// Three box blurs, which come close to a bell.
    fn blurred(mut self, radius: usize) -> Self {
        for _ in 0..3 {
            self = self.boxed(radius).turned().boxed(radius).turned();
        }
        self
    }

    /// Each row averaged over `radius` pixels either side; beyond the edge is dark.
    fn boxed(mut self, radius: usize) -> Self {
        let part = 1.0 / (2 * radius + 1) as f32;
        let mut out = vec![0.0; self.width];
        for row in self.data.chunks_exact_mut(self.width) {
            let mut sum: f32 = row.iter().take(radius).sum();
            for i in 0..row.len() {
                sum += row.get(i + radius).copied().unwrap_or(0.0);
                out[i] = sum * part;
                sum -= if i >= radius { row[i - radius] } else { 0.0 };
            }
            row.copy_from_slice(&out);
        }
        self
    }

    fn turned(self) -> Self {
        let mut data = vec![0.0; self.data.len()];
        for (y, row) in self.data.chunks_exact(self.width).enumerate() {
            for (x, &c) in row.iter().enumerate() {
                data[x * self.height + y] = c;
            }
        }
        Self { width: self.height, height: self.width, data }
    }

    /// The value between pixels.
    fn between(&self, x: f32, y: f32) -> f32 {
        let (x, y) = (x.clamp(0.0, (self.width - 1) as f32), y.clamp(0.0, (self.height - 1) as f32));
        let (i, j) = (x as usize, y as usize);
        let (fx, fy) = (x - i as f32, y - j as f32);
        let (i2, j2) = ((i + 1).min(self.width - 1), (j + 1).min(self.height - 1));
        let at = |i: usize, j: usize| self.data[j * self.width + i];
        let top = at(i, j) + (at(i2, j) - at(i, j)) * fx;
        let low = at(i, j2) + (at(i2, j2) - at(i, j2)) * fx;
        top + (low - top) * fy
    }
}
