//! Two pages as they look, kept as small pictures: a change of the layout shows, whether it was meant or not.
//!
//! `LOOMTAG_ACCEPT_PAGES=1 cargo test golden` keeps the pages as they are now; look at them before they are committed.

use std::path::PathBuf;
use std::sync::Arc;

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings};
use image::RgbImage;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};

use crate::kit::{JobFolder, project};

const DPI: f32 = 100.0;
/// A part of a colour that differs by less has been smoothed a little otherwise.
const DIFFERS: u8 = 48;
/// So many pixels in a million may differ.
const ALLOWED: usize = 200;

/// Circuits that show what tags can carry: marks, both places, an unknown far end, stripes, a doubled cavity, long words.
const LIST: &str = "\
connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter,branch,note
J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,cut,,3.9,ENG-BAY,
J1,14,E14,rail pressure signal,BU/WH,0.5,signal,,cut,680,2.4,ENG-LOOM,
J2,3,E14,,BU/WH,0.5,signal,,cut,680,2.4,ENG-LOOM,
J1,16,E70,engine ground,GNYE,2.5,ground,,cut,,3.1,ENG-BAY,to the block beside the starter motor
J1,16,E70,,BK,1.5,ground,,cut,,2.6,ENG-BAY,
J1,20,E41,exhaust gas recirculation cooler bypass valve position feedback,BN/GN,0.75,signal,,cut,,2.2,,
J2,7,C40,belt tensioner,YE,0.5,restraint,,move,,,,
J2,8,M11,bilge pump float switch,OG,14 AWG,switched,F12 10 A,add,,2.9,,
J2,9,E52,spare sender,WH,0.75,signal,,reserve,900,2,,
";
const JOB: &str = r#"title = "Marsh Hen bench"
[payload]
base = "HTTP://MARSHHEN.LOCAL:7117"
[sleeve_printer]
kind = "thermal-transfer"
dpi = 300
[tags]
work_stock = "a4-24-64x34"
final = "sleeve"
tubes = ["tube-3.2-1.6", "tube-4.8-2.4"]
"#;

/// The first page, as our own renderer draws it: the same everywhere.
fn rendered(pdf: Vec<u8>) -> RgbImage {
    rendered_page(pdf, 0)
}

fn rendered_page(pdf: Vec<u8>, number: usize) -> RgbImage {
    let pdf = Pdf::new(Arc::new(pdf)).expect("a PDF");
    let page = pdf.pages().get(number).expect("a page");
    let scale = DPI / 72.0;
    let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
    let render = RenderSettings { hinting: false, ..RenderSettings::default() };
    let pixels = hayro::render(page, &RenderCache::new(), &InterpreterSettings::default(), &render, &settings);
    let bytes = pixels.data().iter().flat_map(|pixel| [pixel.r, pixel.g, pixel.b]).collect();
    RgbImage::from_raw(pixels.width().into(), pixels.height().into(), bytes).expect("three bytes a pixel")
}

/// Where a page is kept.
fn kept(name: &str) -> PathBuf {
    project().join("tests/golden").join(name)
}

#[track_caller]
fn looks_as_before(name: &str, now: &RgbImage) {
    if std::env::var_os("LOOMTAG_ACCEPT_PAGES").is_some() {
        let file = std::fs::File::create(kept(name)).expect("made");
        let encoder = PngEncoder::new_with_quality(file, CompressionType::Best, FilterType::Adaptive);
        now.write_with_encoder(encoder).expect("written");
        return;
    }
    let before = image::open(kept(name)).unwrap_or_else(|error| panic!("{name}: {error}")).to_rgb8();
    let differs = |(one, other): (&image::Rgb<u8>, &image::Rgb<u8>)| {
        one.0.iter().zip(other.0).any(|(one, other)| one.abs_diff(other) > DIFFERS)
    };
    let is_as_large = before.dimensions() == now.dimensions();
    let count = before.pixels().zip(now.pixels()).filter(|&pair| differs(pair)).count();
    let pixels = (now.width() * now.height()) as usize;
    if !is_as_large || count * 1_000_000 > ALLOWED * pixels {
        let now_at = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        now.save(&now_at).expect("written");
        panic!(
            "{name} looks otherwise than before: {:?} now, {:?} before, {count} pixels differ; compare {} with {}",
            now.dimensions(),
            before.dimensions(),
            now_at.display(),
            kept(name).display()
        );
    }
}

#[test]
fn pages_look_as_before() {
    let folder = JobFolder::with(&[("job.toml", JOB), ("loom.csv", LIST)]);
    folder.done(&["tags", "--all", "--out", "out"]);
    for (pdf, name) in [("work-a4-24-64x34.pdf", "flags.png"), ("final-tube-4.8-2.4.pdf", "sleeves.png")] {
        looks_as_before(name, &rendered(folder.bytes(&format!("out/{pdf}"))));
    }
}

/// Faces with all that they can show: a latch, staggered rows, a large cavity, a doubled one, one without a place, moves, a relay, rings,
/// and a face that is a guess.
const FACES: &str = "\
connector,kind,short name,rows,columns,numbering,latch,view,stagger,large,missing
X1,plug,bulkhead,,4 3,by rows,left,wire side,,1,3
H1,plug,helm panel,2,6,\"rows lettered, from bottom right\",top,,,,
R3,plug,round bulkhead,,8 1,\"rings, lettered\",top,,,,
K1,relay,main relay,,,,,,,,
";
const IN_FACES: &str = "\
connector,cavity,circuit,colour,action
X1,1,E1,RD/BK,cut
X1,2,E2,BU,keep
X1,2,E2,BU/WH,keep
X1,4,E3,GNYE,move to H1/B2
X1,7,E4,mauve,remove
X1,9,E5,WH,
H1,A1,E6,BN,keep
H1,B6,E7,OG,reserve
H1,A4,E8,YE,extend
R3,A,E10,VT,add
R3,J,E11,GY/RD,keep
K1,30,E12,RD,keep
K1,87,E13,RD/YE,keep
B9,1,E14,BK,keep
B9,3,E15,PK,remove
";

#[test]
fn faces_look_as_before() {
    // The symbol of the sheet leads to an address: without one it would bear the day.
    let job = "title = \"Marsh Hen bench\"\n\n[payload]\nbase = \"HTTP://MARSHHEN.LOCAL:7117\"\n";
    let files = [("job.toml", job), ("connectors.csv", FACES), ("loom.csv", IN_FACES)];
    let folder = JobFolder::with(&files);
    folder.done(&["sheets", "--only", "faces", "--out", "faces.pdf"]);
    for (number, name) in ["faces-1.png", "faces-2.png"].into_iter().enumerate() {
        let page = rendered_page(folder.bytes("faces.pdf"), number);
        // Without the foot, which bears the day.
        let (width, height) = page.dimensions();
        let above_foot = image::imageops::crop_imm(&page, 0, 0, width, height - 65).to_image();
        looks_as_before(name, &above_foot);
    }
}

/// The comparison itself: a page that lost a line of one tag is noticed.
#[test]
#[should_panic(expected = "looks otherwise than before")]
fn a_changed_page_is_noticed() {
    assert!(
        std::env::var_os("LOOMTAG_ACCEPT_PAGES").is_none(),
        "looks otherwise than before: not tried while accepting"
    );
    let list = LIST.replace("rail pressure signal", "");
    let folder = JobFolder::with(&[("job.toml", JOB), ("loom.csv", &list)]);
    folder.done(&["tags", "--all", "--work", "--out", "out"]);
    looks_as_before("flags.png", &rendered(folder.bytes("out/work-a4-24-64x34.pdf")));
}
