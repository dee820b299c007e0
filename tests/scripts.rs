//! Lines in scripts that the faces of the program lack, drawn with fallback fonts: their order compared with FriBidi, their
//! glyphs with HarfBuzz, and their PDFs read and rendered by programs that are not ours.

use std::fs;
use std::path::{Path, PathBuf};

use std::sync::Arc;

use hayro::hayro_interpret::InterpreterSettings;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings};
use loomtag::base::{Length, Point, Rect, Size, Turn};
use loomtag::layout::text::Fonts;
use loomtag::layout::{Face, FontFile, Glyph, Ink, Item, Stretch};
use loomtag::pages::Page;
use loomtag::pdf::{Document, Writer};
use serde_json::{Value, json};

use crate::kit::{JobFolder, program, project, script};

/// Fonts of Debian that tests use as fallbacks, with the package of each: Arabic and Hebrew in TrueType outlines, Japanese in
/// TrueType outlines, Arabic and Hebrew in CFF outlines.
const DEJAVU: (&str, &str) = ("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", "fonts-dejavu-core");
const GOTHIC: (&str, &str) = ("/usr/share/fonts/truetype/vlgothic/VL-Gothic-Regular.ttf", "fonts-vlgothic");
const SERIF: (&str, &str) = ("/usr/share/fonts/opentype/freefont/FreeSerif.otf", "fonts-freefont-otf");

/// Functions, places and notes of a harness in other scripts, each with what is hard in it.
const LINES: [&str; 16] = [
    // Latin alone, kerned.
    "AVATAR rail pressure 0.75 mm",
    // Joining letters, a ligature of lam and alef.
    "مستشعر ضغط السكة",
    "مضخة الوقود الأمامية",
    // Marks above and below.
    "مُحَرِّك",
    "מְנוֹעַ",
    "חיישן לחץ דלק",
    // Latin words and numbers within leftward lines, and the other way round; brackets turn with the direction.
    "صمام F3 5 A",
    "صمام (خلفي) 12 V",
    "חיישן (F12) 15 A",
    "fuel pump مضخة relay",
    "to J1/14 חיישן 3.5 bar",
    // Persian with its own letters and digits of the Arabic script.
    "پمپ سوخت ۱۲",
    // Three scripts of one language, full-width signs, a mark that lengthens a vowel.
    "油圧ポンプ 電源",
    "燃料ポンプ（右舷）F3 5 A",
    "エンジン始動リレー",
    // Cyrillic stands in the faces of the program.
    "датчик давления 油 חם",
];

fn font((path, package): (&str, &str)) -> FontFile {
    FontFile::open(font_bytes((path, package)), 0).expect(path)
}

/// A font of Debian; a missing one fails the test with its package.
fn font_bytes((path, package): (&str, &str)) -> Vec<u8> {
    fs::read(path).unwrap_or_else(|why| panic!("missing: {path} ({why}); apt-get install {package}, or sh tests/run"))
}

fn own(file: &str) -> PathBuf {
    project().join("fonts").join(file)
}

/// A line shaped and placed at the origin, as the outside check wants it.
fn placed(fonts: &Fonts, face: Face, text: &str) -> Value {
    let cap = Length::mm(2.0);
    let shaped = fonts.shape(face, text).unwrap_or_else(|missing| panic!("{text}: {missing}"));
    let items = fonts.place(&shaped, cap, Point::ORIGIN, Turn::Upright, Stretch::NONE, Ink::Black);
    let runs = items.iter().map(|item| {
        let Item::Text(run) = item else { panic!("{item:?}") };
        let glyph = |g: &Glyph| json!([g.id, g.advance, g.offset.0, g.offset.1, g.text]);
        let bounds = [run.bounds.left(), run.bounds.top(), run.bounds.size.width, run.bounds.size.height];
        json!({
            "face": format!("{:?}", run.face),
            "em": run.em.as_mm(),
            "x": run.at.x.as_mm(),
            "bounds": bounds.map(Length::as_mm),
            "glyphs": run.glyphs.iter().map(glyph).collect::<Vec<_>>(),
        })
    });
    json!({ "text": text, "cap": cap.as_mm(), "runs": runs.collect::<Vec<_>>() })
}

fn check(faces: &Value, lines: &[Value]) -> String {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lines.json");
    fs::write(&file, json!({ "faces": faces, "lines": lines }).to_string()).expect("written");
    script("shaping.py", &[&file.to_string_lossy()])
}

fn faces(fallbacks: &[(&str, u32)]) -> Value {
    let mut faces = json!({
        "Words": [own("FiraSansCondensed-Medium.ttf"), 0],
        "Strong": [own("FiraSansCondensed-Bold.ttf"), 0],
        "Code": [own("AtkinsonHyperlegibleNext_700Bold.ttf"), 0],
    });
    for (number, (file, face)) in fallbacks.iter().enumerate() {
        faces[format!("Fallback({number})")] = json!([Path::new(file), face]);
    }
    faces
}

#[test]
fn order_is_fribidis_and_glyphs_are_harfbuzzs() {
    for (first, second) in [(DEJAVU, GOTHIC), (SERIF, GOTHIC)] {
        let fonts = Fonts::with_fallbacks(vec![font(first), font(second)]);
        let faces = faces(&[(first.0, 0), (second.0, 0)]);
        for face in Face::ALL {
            let drawn = |text: &&str| fonts.shape(face, text).is_ok();
            let lines: Vec<Value> =
                LINES.iter().filter(|text| drawn(text)).map(|text| placed(&fonts, face, text)).collect();
            assert!(check(&faces, &lines).starts_with(&format!("{} lines in ", LINES.len())), "{first:?} {face:?}");
        }
    }
}

/// A page with every line, 10 mm apart, in capitals of 3 mm.
fn page(fonts: &Fonts) -> Page {
    let mut marks = Vec::new();
    for (index, text) in LINES.iter().enumerate() {
        let shaped = fonts.shape(Face::Words, text).expect("drawn");
        let at = Point::new(Length::mm(10.0), Length::mm(10.0 * (index + 1) as f64));
        marks.extend(fonts.place(&shaped, Length::mm(3.0), at, Turn::Upright, Stretch::NONE, Ink::Black));
    }
    let height = Length::mm(10.0 * (LINES.len() + 1) as f64);
    Page { size: Size::new(Length::mm(100.0), height), marks, ..Page::default() }
}

/// A page as gray pixels.
struct Picture {
    width: usize,
    gray: Vec<u8>,
}

const DPI: f32 = 300.0;

impl Picture {
    fn ours(pdf: Vec<u8>) -> Self {
        let pdf = hayro::hayro_syntax::Pdf::new(Arc::new(pdf)).expect("a PDF");
        let scale = DPI / 72.0;
        let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
        let render = RenderSettings { hinting: false, ..RenderSettings::default() };
        let page = &pdf.pages()[0];
        let pixels = hayro::render(page, &RenderCache::new(), &InterpreterSettings::default(), &render, &settings);
        Self { width: pixels.width().into(), gray: pixels.data().iter().map(|pixel| pixel.g).collect() }
    }

    fn popplers(file: &Path) -> Self {
        let picture = file.with_extension("");
        let (pdf, stem) = (file.to_string_lossy(), picture.to_string_lossy());
        program("pdftoppm", &["-r", &DPI.to_string(), "-gray", "-png", "-singlefile", &pdf, &stem]);
        let picture = image::open(picture.with_extension("png")).expect("a picture").to_luma8();
        Self { width: picture.width() as usize, gray: picture.into_raw() }
    }

    /// Ink in an area, in whole black pixels.
    fn ink(&self, area: Rect) -> f64 {
        let pixels = |length: Length| (length.as_mm() / 25.4 * f64::from(DPI)) as usize;
        let rows = pixels(area.top())..=pixels(area.bottom()) + 1;
        let row = |row: usize| {
            &self.gray[row * self.width + pixels(area.left())..=row * self.width + pixels(area.right()) + 1]
        };
        rows.flat_map(row).map(|&gray| f64::from(255 - gray) / 255.0).sum()
    }
}

#[test]
fn fallbacks_are_embedded_and_two_renderers_draw_them_alike() {
    for (first, kind) in [(DEJAVU, "CID TrueType"), (SERIF, "CID Type 0C")] {
        let files = vec![font(first), font(GOTHIC)];
        let mut page = page(&Fonts::with_fallbacks(files.clone()));
        // The same glyphs once more, as other characters: they get numbers of their own in the PDF.
        let again = page.marks.iter().find_map(|item| match item {
            Item::Text(run) if run.face == Face::Fallback(0) => Some(run.clone()),
            _ => None,
        });
        let mut again = again.expect("a run of the first fallback");
        again.glyphs = again.glyphs.iter().map(|glyph| Glyph { text: "x".to_owned(), ..glyph.clone() }).collect();
        let down = Point::new(Length::ZERO, Length::mm(4.0));
        (again.at, again.bounds) = (again.at.plus(down), again.bounds.moved(down));
        page.marks.push(Item::Text(again));
        let mut pdf = Vec::new();
        let document = Document { title: "scripts".to_owned(), fallbacks: files, ..Document::default() };
        let mut writer = Writer::new(&mut pdf, &document).expect("written");
        writer.page(&page).expect("written");
        writer.finish().expect("written");

        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("scripts.pdf");
        fs::write(&file, &pdf).expect("written");
        let path = file.to_string_lossy();
        assert!(program("qpdf", &["--check", &path]).contains("No syntax or stream encoding errors found"));
        let fonts = program("pdffonts", &[&path]);
        let name = Path::new(first.0).file_stem().expect("named").to_string_lossy();
        for (name, kind) in
            [(&*name, kind), ("VL-Gothic-Regular", "CID TrueType"), ("FiraSansCondensed-Medium", "CID TrueType")]
        {
            let line = fonts
                .lines()
                .find(|line| line.contains(&format!("+{name} ")))
                .unwrap_or_else(|| panic!("{name}:\n{fonts}"));
            let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(line.contains(kind) && line.contains(" yes yes yes "), "{line}");
        }

        let (ours, popplers) = (Picture::ours(pdf), Picture::popplers(&file));
        let mut all = 0.0;
        for item in &page.marks {
            let Item::Text(run) = item else { panic!("{item:?}") };
            let text: String = run.glyphs.iter().map(|glyph| glyph.text.as_str()).collect();
            let (one, other) = (ours.ink(run.bounds), popplers.ink(run.bounds));
            assert!((one - other).abs() <= 0.04 * one.max(other) + 3.0, "{text}: {one:.0} and {other:.0} pixels");
            // The thinnest letter of 3 mm, an alef, is 35 dots high and 3 wide.
            assert!(text.trim().is_empty() || one > 30.0, "{text}: {one:.0} pixels");
            all += one;
        }
        // Bounds of neighbouring runs may share a pixel's column.
        let whole =
            ours.ink(Rect::new(Length::ZERO, Length::ZERO, Length::mm(99.0), page.size.height - Length::mm(1.0)));
        assert!(whole <= all && whole > 0.95 * all, "{whole:.0} pixels on the page, {all:.0} in runs");
    }
}

/// What is copied from the PDF is what was typed, in the order in which it is read.
#[test]
fn text_is_copied_in_reading_order() {
    let files = vec![font(SERIF), font(GOTHIC)];
    let page = page(&Fonts::with_fallbacks(files.clone()));
    let mut pdf = Vec::new();
    let mut writer = Writer::new(&mut pdf, &Document { title: String::new(), fallbacks: files, ..Document::default() })
        .expect("written");
    writer.page(&page).expect("written");
    writer.finish().expect("written");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("scripts.pdf");
    fs::write(&file, &pdf).expect("written");
    let text = program("pdftotext", &["-raw", &file.to_string_lossy(), "-"]);
    // The reader marks directions of its own.
    let text = text.replace(|c: char| matches!(c, '\u{202A}'..='\u{202E}' | '\u{200E}' | '\u{200F}'), "");
    for words in [
        "AVATAR rail pressure 0.75 mm",
        "مستشعر",
        "ضغط",
        "السكة",
        "חיישן",
        "דלק",
        "صمام",
        "F3 5 A",
        "fuel pump",
        "to J1/14 3.5",
        "پمپ",
        "油圧ポンプ 電源",
        "燃料ポンプ（右舷）F3 5 A",
        "датчик давления 油",
    ] {
        assert!(text.contains(words), "`{words}` in\n{text}");
    }
}

/// A job with functions, places and notes in three other scripts, its tags made and looked at by programs that are not ours.
#[test]
fn tags_in_other_scripts_are_sound() {
    let list = "\
connector,cavity,circuit,function,colour,size,supply,action,length,diameter,note
J1,1,E65,油圧ポンプ 電源 F3 5 A,RD/BK,4.0,constant,cut,,3.9,右舷
J1,2,E70,مستشعر ضغط السكة F3 5 A,BK,2.5,ground,cut,,3.1,
J1,3,E14,חיישן לחץ דלק 15 A,BU/WH,0.5,signal,cut,680,2.4,
盤2,14,E14,,BU/WH,0.5,signal,cut,680,2.4,
J1,4,E15,fuel pump مضخة الوقود relay,BU/WH,0.5,signal,cut,680,2.4,датчик
";
    for (number, fallback) in [DEJAVU, SERIF].into_iter().enumerate() {
        let folder = JobFolder::with(&[("loom.csv", list)]);
        folder.write("fonts/first.font", font_bytes(fallback));
        folder.write("fonts/gothic.ttf", font_bytes(GOTHIC));
        folder.write(
            "job.toml",
            "title = \"Marsh Hen abroad\"\n[fonts]\nfallback = [\"fonts/first.font\", \"fonts/gothic.ttf\"]\n\
             [tags]\nfinal = \"sleeve\"\n[sleeve_printer]\n",
        );
        let answer = folder.done(&["tags", "--all", "--out", "out"]);
        answer.says_nothing_of("left out: function");
        let path = |path: PathBuf| path.to_string_lossy().into_owned();
        let folder_of = |file: &str| path(Path::new(file).parent().expect("a folder").to_owned());
        let said = script(
            "printed.py",
            &[
                &path(folder.path().join("out")),
                &path(project().join("templates/stock")),
                &path(project().join("fonts")),
                &folder_of(fallback.0),
                &folder_of(GOTHIC.0),
            ],
        );
        assert!(said.contains(" files sound, "), "{number}: {said}");
        let fonts = program("pdffonts", &[&path(folder.path().join("out/work-a4-paper-33-60x24.pdf"))]);
        assert!(fonts.contains("+VL-Gothic-Regular "), "{fonts}");
    }
}

/// Fonts of CFF outlines with a few bytes spoilt, by a fixed sequence: they are refused, or something is written.
#[test]
fn spoilt_fonts_are_refused_or_written() {
    let sound = font_bytes(SERIF);
    let mut seed = 7_u64;
    let mut next = |below: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % below
    };
    let mut written = 0;
    for round in 0..300 {
        let mut bytes = sound.clone();
        // Where tables begin much depends on each byte; elsewhere little does.
        let within = [2000, 100_000, bytes.len()][round % 3];
        for _ in 0..4 {
            let at = next(within);
            bytes[at] = next(256) as u8;
        }
        let Ok(file) = FontFile::open(bytes, 0) else { continue };
        if loomtag::pdf::can_embed(&file).is_err() {
            continue;
        }
        let fonts = Fonts::with_fallbacks(vec![file.clone()]);
        let Ok(shaped) = fonts.shape(Face::Words, "مستشعر מנוע 5") else { continue };
        let marks = fonts.place(&shaped, Length::mm(2.0), Point::ORIGIN, Turn::Upright, Stretch::NONE, Ink::Black);
        let page = Page { size: Size::new(Length::mm(50.0), Length::mm(50.0)), marks, ..Page::default() };
        let document = Document { title: String::new(), fallbacks: vec![file], ..Document::default() };
        let mut writer = Writer::new(Vec::new(), &document).expect("written");
        written += usize::from(writer.page(&page).and_then(|()| writer.finish()).is_ok());
    }
    assert!(written > 50, "{written} written");
}
