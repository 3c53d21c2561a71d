//! Paints scenes to look at: `cargo run --release -p nde-checks --bin paint -- DIR SEED...`

use nde_checks::paint::scene::{Scene, SceneOptions};
use std::io::Write as _;

fn main() -> anyhow::Result<()> {
    let mut words = std::env::args().skip(1);
    let dir = words.next().ok_or_else(|| anyhow::anyhow!("usage: paint DIR SEED..."))?;
    std::fs::create_dir_all(&dir)?;
    let mut out = std::io::stdout().lock();
    for word in words {
        let seed: u64 = word.parse()?;
        let scene = Scene::of(seed, &SceneOptions::default());
        let name = format!("{dir}/scene-{seed}.jpg");
        std::fs::write(&name, scene.jpeg())?;
        writeln!(
            out,
            "{name}: {} x {}, {:.1} px/mm, tilt {:.0} deg",
            scene.camera.width,
            scene.camera.height,
            1.0 / scene.camera.mm_per_px([0.0, 0.0]),
            scene.camera.tilt_deg
        )?;
        for (drawn, body) in scene.bodies() {
            let [x, y] = scene.camera.to_photo(body.centroid_mm);
            let seen = drawn.seen_body(body);
            writeln!(
                out,
                "  {:>8} at {x:.0},{y:.0}: {:.2} x {:.2} mm, peak {:.2}; seen {:.2} x {:.2} mm, peak {:.2}",
                drawn.mark.kind.word(),
                body.length_mm,
                body.width_mm,
                body.peak,
                seen.map_or(0.0, |s| s.length_mm),
                seen.map_or(0.0, |s| s.width_mm),
                seen.map_or(0.0, |s| s.peak),
            )?;
        }
        for layer in
            scene.layers.all().iter().filter(|l| !["indication", "spatter"].contains(&l.name))
        {
            writeln!(out, "  {}", layer.name)?;
        }
        for droplet in &scene.droplets {
            let [x, y] = scene.camera.to_photo(droplet.at_mm);
            writeln!(
                out,
                "   droplet at {x:.0},{y:.0}: {:.2} mm; seen {:.2} mm, peak {:.2}",
                droplet.length_mm, droplet.seen_mm, droplet.seen_peak
            )?;
        }
    }
    Ok(())
}
