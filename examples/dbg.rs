fn main() {
    let st = fretgrin::settings::Settings::resolve(&fretgrin::settings::Shop::default()).unwrap();
    for f in std::env::args().skip(1) {
        let bytes = std::fs::read(&f).unwrap();
        let t = std::time::Instant::now();
        match fretgrin::pipeline::check(&bytes, &f, &st) {
            Ok(o) => {
                let dt = t.elapsed();
                let t = std::time::Instant::now();
                for m in fretgrin::pipeline::documents(&o, &st).unwrap() {
                    std::fs::write(format!("/tmp/ext/out/{}", m.name), m.bytes).unwrap();
                }
                println!(
                    "{f}: check {dt:?} documents {:?}; cutouts {} islands {} bridges {} turns {} slots {} holes {} blades {:?}",
                    t.elapsed(),
                    o.face.cutouts.len(),
                    o.checks.islands.len(),
                    o.checks.bridges.len(),
                    o.checks.turns.len(),
                    o.checks.slots.len(),
                    o.holes.len(),
                    o.setup.recommended
                );
                for x in o.findings.iter().take(14) {
                    println!(
                        "   {:?} {} {:?} | {} | {}",
                        x.severity,
                        x.id,
                        x.at.map(|p| (p.x.round(), p.y.round())),
                        x.message,
                        x.advice
                    );
                }
            }
            Err(e) => println!("{f}: ERROR {e} / {}", e.advice()),
        }
    }
}
