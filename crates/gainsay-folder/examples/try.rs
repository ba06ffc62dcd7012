use std::path::Path;
fn main() {
    let tree = gainsay_folder::demo::tree();
    for name in ["quintet.toml", "storyteller.toml", "storyteller-pocket-recorder.toml"] {
        let case = match gainsay_folder::load(&tree, Path::new(name)) {
            Ok(c) => c,
            Err(e) => {
                println!("{e}");
                continue;
            }
        };
        let t = std::time::Instant::now();
        let a = gainsay_plan::check(&case, Default::default()).unwrap();
        println!("{:?}", t.elapsed());
        for s in &a.answer {
            println!("* {s}");
        }
        for s in &a.sources {
            println!("{} [{:?}] {:?}", s.name, s.input, s.sentence);
            if let Some(r) = &s.result {
                println!(
                    "  gain {:?} peak {:?} quiet {:?} noise {:?}\n  eq {:?} penalty {:?} rise {:?} aud {} clip {} {:?} {}",
                    r.gain_db,
                    r.peak_dbfs,
                    r.quiet_dbfs,
                    r.noise_dbfs_a,
                    r.noise_equivalent_dba,
                    r.penalty_db,
                    r.replay_rise_db,
                    r.audible_probability,
                    r.clipping_probability,
                    r.verdict,
                    r.limit_words
                );
                for sh in &r.noise_shares {
                    print!(" {}={:.4}", sh.contributor.words(), sh.mean);
                }
                println!();
                if let Some(f) = r.stages.last() {
                    println!(
                        "  best: peak {:.2} noise_a {:.2} quiet {:.2}; flat {:.2}",
                        f.peak,
                        f.noise_a(),
                        f.quiet,
                        f.noise_flat()
                    );
                    for c in &f.noise {
                        print!(" {}={:.4}", c.contributor.words(), f.share_a(c.contributor));
                    }
                    println!();
                }
                println!("  {:?}", r.with_booster);
            }
        }
        println!("{:?}\n{:?}\n{:?}", a.ask, a.remarks, a.cautions);
        println!("{} assumed", a.assumed.len());
    }
}
