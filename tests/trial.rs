//! scratch
use std::fs;
use std::io::Cursor;

use camera::{Conditions, Ground, Picture, photograph};
use image::ImageEncoder;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use loomtag::layout::symbol::{Symbol, SymbolKind};
use loomtag::proof::read_image;
use rayon::prelude::*;

fn conditions() -> Conditions {
    let get = |name: &str, or: f64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(or);
    Conditions {
        gain: (get("GMIN", -0.01), get("GAIN", 0.04)),
        ragged: (0.005, 0.02),
        lost_dots: (0.0, get("LOST", 0.01)),
        paper: (0.6, 0.85),
        ink: (0.05, 0.15),
        shrink: (0.5, 0.85),
        shrink_error: (1.0 - get("SHRINK", 0.08), 1.0 + get("SHRINK", 0.08)),
        length_change: (0.95, 1.05),
        distance: (get("DMIN", 100.0), get("DMAX", 150.0)),
        field: (1.2, 1.35),
        tilt: (0.0, get("TILT", 20.0)),
        roll: (-get("ROLL", 15.0), get("ROLL", 15.0)),
        opening: (2.9, 2.9),
        focus_error: (get("FMIN", 0.0), get("FOCUS", 12.0)),
        motion: (get("MMIN", 0.0), get("MOTION", 0.25)),
        softness: (0.7, 1.0),
        gradient: (0.0, 0.3),
        shadow: (0.0, get("SHADOW", 0.4)),
        lamp: (10.0, 60.0),
        ambient: (get("AMB", 0.3), 0.7),
        gloss: (0.0, get("GLOSS", 0.2)),
        exposure: (0.6, 1.0),
        noise: (0.01, get("NOISE", 0.03)),
    }
}

fn jpeg(picture: &Picture) -> Vec<u8> {
    let mut bytes = Vec::new();
    PngEncoder::new_with_quality(Cursor::new(&mut bytes), CompressionType::Uncompressed, FilterType::NoFilter)
        .write_image(&picture.luma, picture.width as u32, picture.height as u32, image::ExtendedColorType::L8)
        .unwrap();
    bytes
}

#[test]
fn trial_scratch() {
    let qr = |payload: &str| Symbol::qr(payload).unwrap();
    let dm = |payload: &str, kind| Symbol::data_matrix(payload, kind).unwrap();
    let (square, low) = (SymbolKind::DataMatrixSquare, SymbolKind::DataMatrixLow);
    let m = 4.0 * 25.4 / 300.0;
    let kinds = [
        ("qr1 flat", qr("7KF4 A"), m, 4, None),
        ("qr2 flat", qr("HTTP://TAGS.EXAMPLE/7KF4/A"), m, 4, None),
        ("qr3 flat", qr("7KF4 A RAIL PRESSURE SIG J1/14-X3/2"), m, 4, None),
        ("qr2 203", qr("HTTP://TAGS.EXAMPLE/7KF4/A"), 3.0 * 25.4 / 203.0, 3, None),
        ("dm14 flat", dm("7KF4", square), m, 4, None),
        ("dm8x18 flat", dm("7KF4", low), m, 4, None),
        ("dm14 round", dm("7KF4", square), m, 4, Some(14.0 / 1.05)),
        ("dm8x18 round", dm("7KF4", low), m, 4, Some(8.0 / 0.95)),
        ("qr1 round", qr("7KF4 A"), m, 4, Some(21.0 / 1.02)),
    ];
    let n: u64 = std::env::var("N").ok().and_then(|v| v.parse().ok()).unwrap_or(100);
    let conditions = conditions();
    fs::create_dir_all("target/trial").unwrap();
    let only = std::env::var("ONLY").unwrap_or_default();
    for (name, symbol, module, dots, round) in kinds.iter().filter(|k| k.0.contains(&only)) {
        let run = |scale: f64, diameter: Option<f64>| {
            let printed = camera::Symbol {
                columns: symbol.modules.columns.into(),
                rows: symbol.modules.rows.into(),
                dark: &symbol.modules.dark,
                quiet: symbol.kind.quiet_modules() as usize,
                module: if scale > 1.0 { module * f64::from(dots + 1) / f64::from(*dots) } else { module * scale },
                module_dots: if scale > 1.0 { f64::from(*dots + 1) } else { f64::from(*dots) * scale },
            };
            let ground = diameter.map_or(Ground::Flat, |diameter| Ground::Round { diameter });
            let t = std::time::Instant::now();
            let times: Vec<_> = (0..n)
                .into_par_iter()
                .map(|seed| {
                    let t = std::time::Instant::now();
                    let picture = photograph(&printed, ground, &conditions, seed);
                    let a = t.elapsed();
                    let bytes = jpeg(&picture);
                    if seed < 3 {
                        fs::write(format!("target/trial/{name} {scale} {} {seed}.jpg", diameter.unwrap_or(0.0)), &bytes).unwrap();
                    }
                    let texts: Vec<_> = read_image(&bytes).unwrap().into_iter().map(|s| s.text).collect();
                    let ok = texts.iter().any(|t| *t == symbol.payload);
                    let wrong = texts.iter().any(|t| *t != symbol.payload);
                    (ok, wrong, a, t.elapsed() - a, picture.luma.len())
                })
                .collect();
            let ok = times.iter().filter(|t| t.0).count();
            let wrong = times.iter().filter(|t| t.1).count();
            let make: f64 = times.iter().map(|t| t.2.as_secs_f64()).sum::<f64>() / n as f64 * 1e3;
            let read: f64 = times.iter().map(|t| t.3.as_secs_f64()).sum::<f64>() / n as f64 * 1e3;
            let px = times.iter().map(|t| t.4).sum::<usize>() / n as usize;
            let _ = t;
            print!(" | {scale} d{:.1}: {:.1}% wrong {wrong} ({make:.1}+{read:.1} ms {}k)", diameter.unwrap_or(0.0), ok as f64 / n as f64 * 100.0, px / 1000);
        };
        print!("{name:14}");
        match round {
            None => {
                if let Ok(list) = std::env::var("AS") {
                    for f in list.split(',') { run(f.parse::<f64>().unwrap(), None); }
                    println!();
                    continue;
                }
                for scale in [1.3, 1.0, 0.7] { run(scale, None) }
            }
            Some(k) => {
                let d = 2.0 * k * module;
                if let Ok(list) = std::env::var("AS") {
                    for f in list.split(',') { run(1.0, Some(d * f.parse::<f64>().unwrap())); }
                    println!();
                    continue;
                }
                run(1.3, Some(d * 1.3));
                run(1.0, Some(d));
                run(0.7, Some(d * 0.7));
                run(1.0, Some(d * 0.7));
                run(0.7, Some(d));
            }
        }
        println!();
    }
}
