//! Blocks are put where they are inserted.

use kurbo::{Affine, BezPath};

use super::entities::{Contents, Entity, Insert, LeftOut, What};
use crate::diag::{Error, Place, Severity};

/// Blocks within blocks, at most. Drawings nest three or four.
const DEEPEST: usize = 16;
/// Entities once every block stands where it is inserted, empty ones too.
const MOST_ENTITIES: u64 = 200_000;
/// Curve segments of all lines together.
const MOST_SEGMENTS: usize = 150_000;

/// A line in the drawing's own space.
#[derive(Debug)]
pub(super) struct Line {
    pub(super) path: BezPath,
    /// Its layer; for a line on layer 0 of a block, the layer of the insertion.
    pub(super) layer: String,
    /// Its line in the file, from 1.
    pub(super) line: u32,
}

/// Every line of the drawing, blocks and all; what was not drawn is counted in
/// `contents.left`.
///
/// # Errors
/// [`Error::Art`] for blocks that hold themselves, nest too deep or write too
/// much.
pub(super) fn lines(contents: &mut Contents, file: &str) -> Result<Vec<Line>, Error> {
    let mut left = std::mem::take(&mut contents.left);
    let mut work =
        Work { contents, file, left: &mut left, within: Vec::new(), lines: Vec::new(), count: 0, segments: 0 };
    let drawn = work.all(&contents.entities, Affine::IDENTITY, "0");
    let lines = work.lines;
    contents.left = left;
    drawn.map(|()| lines)
}

struct Work<'a> {
    contents: &'a Contents,
    file: &'a str,
    left: &'a mut LeftOut,
    /// Names of the blocks being inserted, outermost first.
    within: Vec<&'a str>,
    lines: Vec<Line>,
    count: u64,
    segments: usize,
}

impl<'a> Work<'a> {
    fn all(&mut self, entities: &'a [Entity], frame: Affine, layer: &str) -> Result<(), Error> {
        for entity in entities {
            self.count += 1;
            if self.count > MOST_ENTITIES {
                let what = format!("with every block written out the drawing has more than {MOST_ENTITIES} entities");
                return Err(self.refused(entity, what, "simplify the drawing"));
            }
            let layer = if entity.layer == "0" { layer } else { &entity.layer };
            if self.contents.hidden.contains(&layer.to_uppercase()) || layer.eq_ignore_ascii_case("defpoints") {
                let what = format!("entity on layer `{}`, which is switched off; left out", short(layer));
                let advice = "switch the layer on if it belongs to the face";
                self.left.add(Severity::Note, what, advice, entity.line);
                continue;
            }
            match &entity.what {
                What::Path(path) => self.line(entity, frame * path.clone(), layer)?,
                What::Insert(insert) => self.insert(entity, insert, frame, layer)?,
            }
        }
        Ok(())
    }

    fn line(&mut self, entity: &Entity, path: BezPath, layer: &str) -> Result<(), Error> {
        self.segments += path.elements().len();
        if self.segments > MOST_SEGMENTS {
            let what = format!("the drawing's lines have more than {MOST_SEGMENTS} pieces");
            return Err(self.refused(entity, what, "simplify the drawing: fewer points along its curves"));
        }
        if path.is_finite() {
            self.lines.push(Line { path, layer: layer.to_owned(), line: entity.line });
        } else {
            let what = "lines whose blocks throw them out of all bounds were left out".to_owned();
            self.left.add(Severity::Stop, what, "check the scale of the blocks", entity.line);
        }
        Ok(())
    }

    fn insert(&mut self, entity: &Entity, insert: &'a Insert, frame: Affine, layer: &str) -> Result<(), Error> {
        let Some((name, block)) = self.contents.blocks.get_key_value(&insert.block) else {
            let what = format!("insertion of the block `{}`, which is not in the drawing", short(&insert.block));
            self.left.add(Severity::Care, what, "export the drawing with its blocks", entity.line);
            return Ok(());
        };
        let fault = match self.within.as_slice() {
            within if within.contains(&name.as_str()) => "holds itself, directly or by way of others",
            within if within.len() >= DEEPEST => "stands in too many others, one within another",
            _ => "",
        };
        if !fault.is_empty() {
            let what = format!("the block `{}` {fault}", short(name));
            return Err(self.refused(entity, what, "explode the blocks in the drawing program"));
        }
        self.within.push(name);
        for row in 0..insert.rows {
            for column in 0..insert.columns {
                // Empty blocks count too, or their rows and columns never end.
                self.count += 1;
                if self.count > MOST_ENTITIES {
                    break;
                }
                let step = kurbo::Vec2::new(column as f64 * insert.spacing.x, row as f64 * insert.spacing.y);
                let laid = frame
                    * insert.frame
                    * Affine::translate(step)
                    * Affine::scale_non_uniform(insert.scale.x, insert.scale.y)
                    * Affine::translate(-block.base);
                self.all(&block.entities, laid, layer)?;
            }
            if self.count > MOST_ENTITIES {
                let what = format!("with every block written out the drawing has more than {MOST_ENTITIES} entities");
                return Err(self.refused(entity, what, "simplify the drawing"));
            }
        }
        self.within.pop();
        Ok(())
    }

    fn refused(&self, entity: &Entity, what: String, advice: &str) -> Error {
        let place = Place { file: Some(self.file.to_owned()), line: Some(entity.line), ..Place::default() };
        Error::art(place, what, advice)
    }
}

fn short(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}
