//! Tracing measured: every face drawn as pixels in several ways and sizes,
//! traced back, held against its own outline; a general-purpose tracing library
//! in the same run. Prints a table.
#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints and may fail by panicking")]

#[path = "../tests/support/roundtrip.rs"]
mod roundtrip;

use roundtrip::{Case, Score, Way, draw, faces, ours, score, theirs};

fn main() {
    let faces = faces();
    let each = std::env::args().any(|a| a == "--each");
    println!(
        "{:<8} {:>5} {:<8} {:>7} {:>7} {:>7} {:>11} {:>6} {:>9} {:>8}",
        "drawn", "px", "tracer", "median", "95 %", "worst", "corners", "false", "segments", "ms"
    );
    for way in [Way::Clean, Way::Hard, Way::Jpeg, Way::Turned, Way::Lit] {
        for size in [600, 900, 1600] {
            let cases: Vec<(&str, Case)> =
                faces.iter().map(|(name, svg)| (name.as_str(), draw(svg, size, way))).collect();
            for (tracer, run) in [("ours", ours as fn(&Case) -> _), ("library", theirs)] {
                let scores: Vec<(Score, f64)> = cases
                    .iter()
                    .map(|(name, case)| {
                        let (path, took) = run(case);
                        let s = score(&case.truth, &path);
                        if each && tracer == "ours" {
                            println!(
                                "    {name:<16} {:.3} {:.3} {:.3} at {:.1?} corners {:?} segments {:?} {:.1} ms",
                                s.median,
                                s.most,
                                s.worst,
                                (s.worst_at.x, s.worst_at.y),
                                s.corners,
                                s.segments,
                                took.as_secs_f64() * 1e3
                            );
                        }
                        (s, took.as_secs_f64() * 1e3)
                    })
                    .collect();
                line(way, size, tracer, &scores);
            }
        }
    }
}

fn line(way: Way, size: u32, tracer: &str, scores: &[(Score, f64)]) {
    let most = |of: fn(&Score) -> f64| scores.iter().map(|(s, _)| of(s)).fold(0.0, f64::max);
    let sum = |of: fn(&Score) -> usize| scores.iter().map(|(s, _)| of(s)).sum::<usize>();
    let (corners, kept, wrong) = (sum(|s| s.corners.0), sum(|s| s.corners.1), sum(|s| s.corners.2));
    let ratio = most(|s| s.segments.1 as f64 / s.segments.0 as f64);
    let ms = scores.iter().map(|(_, ms)| ms).sum::<f64>() / scores.len() as f64;
    println!(
        "{:<8} {:>5} {:<8} {:>7.3} {:>7.3} {:>7.3} {:>5}/{:<5} {:>6} {:>8.2}x {:>8.1}",
        format!("{way:?}").to_lowercase(),
        size,
        tracer,
        most(|s| s.median),
        most(|s| s.most),
        most(|s| s.worst),
        kept,
        corners,
        wrong,
        ratio,
        ms
    );
}
