//! Small workbooks made here, sound and hostile, against what must be read or told.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::*;
use crate::base::Stated;
use crate::circuits::cells::Table;
use crate::circuits::{self, JobLists, List, ListSettings};

const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";

fn zipped(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, text) in parts {
        zip.start_file(*name, options).expect("memory takes it");
        zip.write_all(text.as_bytes()).expect("memory takes it");
    }
    zip.finish().expect("memory takes it").into_inner()
}

/// An XLSX workbook of these sheets, each the content of its `worksheet` element, and these shared texts.
fn xlsx(sheets: &[(&str, &str)], texts: &str) -> Vec<u8> {
    let list: String = (1..)
        .zip(sheets)
        .map(|(id, (name, _))| format!("<sheet name=\"{name}\" sheetId=\"{id}\" r:id=\"rId{id}\"/>"))
        .collect();
    let mut relations: String = (1..=sheets.len())
        .map(|id| {
            format!("<Relationship Id=\"rId{id}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet{id}.xml\"/>")
        })
        .collect();
    for (id, kind) in [("s", "sharedStrings"), ("f", "styles")] {
        relations += &format!("<Relationship Id=\"{id}\" Type=\"{OFFICE}/{kind}\" Target=\"/xl/{kind}.xml\"/>");
    }
    let styles = "<styleSheet><numFmts><numFmt numFmtId=\"170\" formatCode=\"000\"/></numFmts><cellStyleXfs><xf \
                  numFmtId=\"14\"/></cellStyleXfs><cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/><xf numFmtId=\"11\"/>\
                  <xf numFmtId=\"170\"/></cellXfs></styleSheet>";
    let mut parts = vec![
        (
            "_rels/.rels".to_owned(),
            format!(
                "<Relationships><Relationship Id=\"a\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        ("xl/workbook.xml".to_owned(), format!("<workbook xmlns=\"{MAIN}\"><sheets>{list}</sheets></workbook>")),
        ("xl/_rels/workbook.xml.rels".to_owned(), format!("<Relationships>{relations}</Relationships>")),
        ("xl/sharedStrings.xml".to_owned(), format!("<sst uniqueCount=\"99999999999999\">{texts}</sst>")),
        ("xl/styles.xml".to_owned(), styles.to_owned()),
    ];
    for (id, (_, content)) in (1..).zip(sheets) {
        let content = format!("<?xml version=\"1.0\"?>\n<worksheet xmlns=\"{MAIN}\">{content}</worksheet>");
        parts.push((format!("xl/worksheets/sheet{id}.xml"), content));
    }
    zipped(&parts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect::<Vec<_>>())
}

/// An XLSX workbook of one sheet with these rows.
fn one_sheet(rows: &str) -> Vec<u8> {
    xlsx(&[("Sheet1", &format!("<sheetData>{rows}</sheetData>"))], "")
}

/// An ODS workbook of these sheets, each the content of its `table:table` element.
fn ods(sheets: &[(&str, &str)]) -> Vec<u8> {
    let tables: String = sheets
        .iter()
        .map(|(name, content)| format!("<table:table table:name=\"{name}\">{content}</table:table>\n"))
        .collect();
    let content = format!(
        "<?xml version=\"1.0\"?><office:document-content><office:body><office:spreadsheet>\n{tables}\
         </office:spreadsheet></office:body></office:document-content>"
    );
    let manifest = "<manifest:manifest><manifest:file-entry manifest:full-path=\"/\"/></manifest:manifest>";
    let kind = "application/vnd.oasis.opendocument.spreadsheet";
    zipped(&[("mimetype", kind), ("META-INF/manifest.xml", manifest), ("content.xml", &content)])
}

/// The text of each sheet, and what is odd in it.
fn texts(bytes: &[u8]) -> Vec<(String, String)> {
    let sheets = read("own.xlsx", bytes, &|_, _| true).expect("a workbook");
    let text = |sheet: WorkbookSheet| {
        let (source, cells) = sheet.content.expect("wanted").expect("within limits");
        let table = Table::of(&source, std::borrow::Cow::Owned(cells));
        let odd: Vec<String> = (0..table.len())
            .flat_map(|row| table.odd_cells(row).iter().map(move |odd| (row, *odd)).collect::<Vec<_>>())
            .map(|(row, odd)| {
                format!("{:?} {}", odd.oddity, table.origin(row, odd.column as usize).cell().unwrap_or_default())
            })
            .collect();
        (source.text().to_owned(), odd.join(", "))
    };
    sheets.into_iter().map(text).collect()
}

/// What is told of a file that cannot be read, or of its only sheet.
fn told(bytes: &[u8]) -> (&'static str, String) {
    let problem = match read("own.xlsx", bytes, &|_, _| true) {
        Err(problem) => problem,
        Ok(mut sheets) => sheets.remove(0).content.expect("wanted").expect_err("beyond a limit"),
    };
    (problem.id, problem.message)
}

#[test]
fn values_of_xlsx() {
    let rows = r#"<row r="2"><c r="B2" t="s"><v>0</v></c><c t="inlineStr"><is><t>01</t></is></c><c r="E2"><v>14</v></c></row>
        <row r="3"><c r="A3"><v>0.30000000000000004</v></c><c r="B3" s="1"><v>46082</v></c><c r="C3" s="2"><v>300000</v></c>
        <c r="D3" t="b"><v>1</v></c><c r="E3" t="e"><f>A9</f><v>#REF!</v></c><c r="F3"><f>B2+1</f></c>
        <c r="G3"><f>1+1</f><v>2</v></c><c r="H3" t="str"><f>""</f><v></v></c><c r="I3" s="3"><v>7</v></c></row>
        <row r="5"><c r="A5" t="s"><v>1</v></c><c r="B5" s="1"/></row>"#;
    let strings = "<si><r><t>J</t></r><r><t>&#49; &amp; more</t></r><rPh><t>spoken</t></rPh></si><si><t>two_x000D_\nlines</t></si>";
    let bytes = xlsx(&[("Sheet1", &format!("<sheetData>{rows}</sheetData>"))], strings);
    let text =
        "\n\tJ1 & more\t01\t\t14\t\t\t\t\n0.3\t2026-03-01\t3E+5\tTRUE\t#REF!\t\t2\t\t007\n\ntwo lines\t\t\t\t\t\t\t\t";
    let odd = "Date B3, Exponent C3, Truth D3, Error E3, NoValue F3";
    assert_eq!(texts(&bytes), [(text.to_owned(), odd.to_owned())]);
    let mut sheets = read("own.xlsx", &bytes, &|_, _| true).expect("a workbook");
    let (source, cells) = sheets.remove(0).content.expect("wanted").expect("within limits");
    let table = Table::of(&source, std::borrow::Cow::Owned(cells));
    assert_eq!(table.row(2).value(0), "two\nlines");
    assert_eq!(table.origin(2, 8).to_string(), "own.xlsx:Sheet1!I5");
}

#[test]
fn values_of_ods() {
    let cell = |kind: &str, text: &str| format!("<table:table-cell {kind}><text:p>{text}</text:p></table:table-cell>");
    let rows = [
        "<table:table-column table:number-columns-repeated=\"5\"/>".to_owned(),
        "<table:table-header-rows><table:table-row>".to_owned(),
        cell("office:value-type=\"string\"", "J<text:span>1</text:span><text:s text:c=\"2\"/>&amp; more"),
        "<table:table-cell table:number-columns-repeated=\"2\"/>".to_owned(),
        cell("office:value-type=\"float\" office:value=\"0.75\"", "1"),
        cell("office:value-type=\"float\" office:value=\"1\"", "01"),
        "</table:table-row></table:table-header-rows>\n<table:table-row table:number-rows-repeated=\"2\">".to_owned(),
        cell("office:value-type=\"date\" office:date-value=\"2026-03-01\"", "1. Mrz"),
        cell("office:value-type=\"boolean\" office:boolean-value=\"true\"", "WAHR"),
        cell("office:value-type=\"float\" office:value=\"300000\"", "3E+05"),
        cell("table:formula=\"of:=[.A9]\" office:value-type=\"string\" calcext:value-type=\"error\"", "#REF!"),
        "<table:table-cell table:formula=\"of:=[.A1]\"/>".to_owned(),
        "</table:table-row>\n<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row>"
            .to_owned(),
    ];
    let note = "<table:table-row><table:table-cell office:value-type=\"string\"><office:annotation><text:p>not this\
                </text:p></office:annotation><text:p>one</text:p><text:p>two</text:p></table:table-cell></table:table-row>";
    let text = "J1  & more\t\t\t0.75\t01\n2026-03-01\tTRUE\t3E+05\t#REF!\t\n2026-03-01\tTRUE\t3E+05\t#REF!\t";
    let odd = |row| format!("Date A{row}, Truth B{row}, Exponent C{row}, Error D{row}, NoValue E{row}");
    let odd = format!("{}, {}", odd(2), odd(3));
    assert_eq!(
        texts(&ods(&[("all", &rows.concat()), ("note", note)])),
        [(text.to_owned(), odd), ("one two".to_owned(), String::new())]
    );
}

#[test]
fn merged_cells_count_for_their_rows() {
    let rows = r#"<row r="1"><c r="A1" t="inlineStr"><is><t>title</t></is></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2"><v>5</v></c></row>
        <row r="3"><c r="B3"><v>6</v></c></row><row r="5"><c r="B5"><v>7</v></c></row><row r="6"><c r="B6"><v>8</v></c></row>"#;
    let merged = r#"<mergeCells><mergeCell ref="A1:C1"/><mergeCell ref="A2:A5"/></mergeCells>"#;
    let bytes = xlsx(&[("Sheet1", &format!("<sheetData>{rows}</sheetData>{merged}"))], "");
    assert_eq!(texts(&bytes)[0].0, "title\t\n1\t5\n1\t6\n\n1\t7\n\t8");
    let mut sheets = read("own.xlsx", &bytes, &|_, _| true).expect("a workbook");
    let (source, cells) = sheets.remove(0).content.expect("wanted").expect("within limits");
    let table = Table::of(&source, std::borrow::Cow::Owned(cells));
    assert_eq!((table.stretch(0, 0), table.stretch(1, 0), table.stretch(2, 0)), ((1, 3), (3, 1), (1, 1)));
    let row = |cells: &str| format!("<table:table-row>{cells}</table:table-row>");
    let cell = |more: &str, text: &str| {
        format!("<table:table-cell office:value-type=\"string\" {more}><text:p>{text}</text:p></table:table-cell>")
    };
    let rows = [
        row(&(cell("table:number-rows-spanned=\"2\"", "J1") + &cell("", "a"))),
        row(&("<table:covered-table-cell/>".to_owned() + &cell("", "b"))),
    ];
    assert_eq!(texts(&ods(&[("x", &rows.concat())]))[0].0, "J1\ta\nJ1\tb");
}

/// Problems as `place id`, of a job with this workbook.
fn problems(bytes: Vec<u8>, sheets: &[Option<&str>]) -> Vec<String> {
    let list = |sheet: &Option<&str>| List {
        name: "own.xlsx".to_owned(),
        bytes: bytes.clone(),
        settings: ListSettings { sheet: sheet.map(|name| Stated::default(name.to_owned())), ..ListSettings::default() },
    };
    let lists: Vec<List> = sheets.iter().map(list).collect();
    let shown = |problem: Problem| {
        format!("{} {}", problem.origin.map(|origin| origin.to_string()).unwrap_or_default(), problem.id)
    };
    circuits::read(&JobLists { lists: &lists, connectors: None, rules: &[] }).problems.into_iter().map(shown).collect()
}

fn sheet_of(rows: &[&[&str]]) -> String {
    let cell = |text: &&str| format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>");
    let row = |cells: &&[&str]| format!("<row>{}</row>", cells.iter().map(cell).collect::<String>());
    format!("<sheetData>{}</sheetData>", rows.iter().map(row).collect::<String>())
}

#[test]
fn sheets_that_are_lists_are_found() {
    let chart = sheet_of(&[&["connector", "cavity", "circuit"], &["J1", "1", "E1"], &["J2", "1", "E1"]]);
    let notes = sheet_of(&[&["wash hands"], &["note", "of all"]]);
    let sheets = [("J1", chart.as_str()), ("notes", notes.as_str()), ("blank", "<sheetData/>")];
    let bytes = xlsx(&sheets, "");
    assert_eq!(problems(bytes.clone(), &[None]), ["own.xlsx:notes sheet-not-read"]);
    assert_eq!(problems(bytes.clone(), &[Some("J1")]), [""; 0]);
    assert_eq!(problems(bytes.clone(), &[Some("j")]), ["own.xlsx sheet-not-found"]);
    assert_eq!(problems(bytes.clone(), &[Some("blank")]), ["own.xlsx:blank unreadable-file"]);
    let notes_told =
        ["own.xlsx:notes!A2 missing-column", "own.xlsx:notes!A2 missing-column", "own.xlsx:notes!B2 unused-column"];
    assert_eq!(problems(bytes, &[Some("J1"), Some("notes")]), notes_told);
    assert_eq!(problems(xlsx(&sheets[1..], ""), &[None]), notes_told, "a single one must be a list");
    assert_eq!(problems(xlsx(&[("a", &notes), ("b", &notes)], ""), &[None]), ["own.xlsx missing-column"]);
    assert_eq!(problems(xlsx(&sheets[2..], ""), &[None]), ["own.xlsx unreadable-file"]);
    let text = b"connector,cavity,circuit\nJ1,1,E1\nJ2,1,E1\n".to_vec();
    assert_eq!(problems(text, &[Some("J1")]), ["own.xlsx sheet-not-found"]);
}

#[test]
fn what_a_spreadsheet_changed_is_told() {
    let rows = r#"<c r="A2"><v>1</v></c><c r="B2" s="1"><v>46082</v></c><c r="C2" s="2"><v>300000</v></c></row>
        <row r="3"><c r="A3"><v>1</v></c><c r="B3"><v>7</v></c><c r="D3" s="1"><v>46082</v></c><c r="E3" s="1"><v>46082</v></c></row>
        <row r="4"><c r="A4"><v>1</v></c><c r="B4"><v>8</v></c><c r="D4" s="1"><v>46082</v></c><c r="F4" t="e"><v>#N/A</v></c></row>"#;
    let heads = ["connector", "cavity", "circuit", "note", "size", "torque"];
    let bytes = xlsx(&[("own", &sheet_of(&[&heads]).replace("</sheetData>", &format!("<row>{rows}</sheetData>")))], "");
    let all = problems(bytes, &[None]);
    let found: Vec<&str> = all.iter().filter(|told| told.contains("changed-by")).map(String::as_str).collect();
    let at = |cell: &str| format!("own.xlsx:own!{cell} changed-by-spreadsheet");
    assert_eq!(found, [at("B2"), at("C2"), at("D3"), at("E3"), at("D4")]);
    assert_eq!(all.iter().filter(|told| told.contains("formula")).count(), 0, "a column that is not read: {all:?}");
}

#[test]
fn limits_are_told() {
    let at =
        |cell: &str| one_sheet(&format!("<row><c r=\"A1\"><v>1</v></c></row><row><c r=\"{cell}\"><v>2</v></c></row>"));
    assert_eq!(told(&at("XFD1048576")).0, "too-many-rows");
    assert_eq!(
        told(&at("ALM7")),
        ("too-many-columns", "cell `ALM7` stands beyond column 1000, the last that is read".to_owned())
    );
    let long = format!("<row><c r=\"C1\" t=\"inlineStr\"><is><t>{}</t></is></c></row>", "é".repeat(10_001));
    assert_eq!(told(&one_sheet(&long)), ("cell-too-long", "cell `C1` has more than 10000 characters".to_owned()));
    let much = format!("<row><c t=\"s\"><v>0</v></c>{}</row>", "<c t=\"s\"><v>0</v></c>".repeat(900));
    let much = format!("<sheetData>{}</sheetData>", much.repeat(20));
    let text = format!("<si><t>{}</t></si>", "x".repeat(10_000));
    let message = "the cells of `own.xlsx` hold more than 64 MiB of text";
    assert_eq!(told(&xlsx(&[("x", &much)], &text)), ("file-too-big", message.to_owned()));
    let cell = "<table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"900\"><text:p>xxxxxxxx</text:p></table:table-cell>";
    let row = |times: &str| format!("<table:table-row table:number-rows-repeated=\"{times}\">{cell}</table:table-row>");
    assert_eq!(told(&ods(&[("x", &row("1000000"))])), ("file-too-big", message.to_owned()));
    assert_eq!(told(&ods(&[("x", &row("4000000000").replace("900", "1000000"))])).0, "too-many-columns");
    assert_eq!(told(&ods(&[("x", &row("1000001").replace("900", "1"))])).0, "too-many-rows");
    assert_eq!(told(&vec![b'P'; LARGEST_FILE + 1]).0, "file-too-big");
}

/// Sheets that are small in the file and wide or tall when they are laid out.
#[test]
fn all_sheets_of_a_workbook_share_the_limits() {
    let mut budget = Budget::of(5_000);
    let mut sheet = |cells: &[(u32, u32)]| {
        let mut grid = Grid::new("own.xlsx", "x", &mut budget);
        let read = cells.iter().try_for_each(|(row, column)| {
            grid.cell(*row, *column, "1", None)?;
            grid.end_row(*row)
        });
        read.and_then(|()| grid.finish()).is_ok()
    };
    let wide = [(0, 999), (1, 0)];
    assert!(sheet(&wide) && sheet(&wide), "each takes 2,000");
    assert!(!sheet(&wide));
    let mut budget = Budget::of(5_000);
    let mut grid = Grid::new("own.xlsx", "x", &mut budget);
    assert!(grid.cell(4_999, 0, "1", None).is_ok() && grid.end_row(4_999).is_err());
    let bytes = xlsx(&vec![("a", "<sheetData/>"); 1_001], "");
    assert!(told(&bytes).1.contains("more than 1000 sheets"));
}

/// Deflate packs zeros and blanks a thousandfold; what the file declares of itself does not count.
#[test]
fn what_unpacks_without_end_is_stopped() {
    let text = one_sheet(&" ".repeat(9 * 1024 * 1024));
    assert_eq!(told(&text).1, "`own.xlsx` is damaged, or no workbook: one of its texts is far too long");
    let row = format!("<row>{}</row>", " ".repeat(64 * 1024));
    let bomb = one_sheet(&row.repeat(MOST_UNPACKED as usize / 64 / 1024));
    assert!(bomb.len() < 2 * 1024 * 1024, "{}", bomb.len());
    assert_eq!(told(&bomb), ("file-too-big", "`own.xlsx` unpacks to more than 256 MiB".to_owned()));
}

#[test]
fn what_is_no_workbook_says_what_it_is() {
    let message = |bytes: &[u8]| told(bytes).1;
    assert_eq!(message(&zipped(&[("word/document.xml", "<x/>")])), "`own.xlsx` is a zip file without a workbook in it");
    let mut old = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
    assert_eq!(message(&old), "`own.xlsx` is a workbook or document of an older kind (.xls)");
    old.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    assert_eq!(message(&old), "`own.xlsx` is encrypted with a password");
    let relation = format!("<Relationship Id=\"a\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.bin\"/>");
    assert_eq!(
        message(&zipped(&[("_rels/.rels", &relation), ("xl/workbook.bin", "")])),
        "`own.xlsx` is a binary workbook (.xlsb)"
    );
    let kind = "application/vnd.oasis.opendocument.spreadsheet";
    let manifest =
        "<manifest:manifest><manifest:file-entry><manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    let locked = zipped(&[("mimetype", kind), ("META-INF/manifest.xml", manifest), ("content.xml", "noise")]);
    assert_eq!(message(&locked), "`own.xlsx` is encrypted with a password");
    assert!(message(b"PK\x03\x04rest").contains("damaged"));
    assert!(message(&one_sheet("<row><c t=\"s\"><v>5</v></c></row>")).contains("refers to a text that is not there"));
    assert!(
        message(&one_sheet("<row r=\"3\"><c><v>5</v></c></row><row r=\"2\"><c><v>5</v></c></row>"))
            .contains("out of order")
    );
    assert!(message(&one_sheet(&"<a>".repeat(300))).contains("too deep"));
}

/// Chance, the same every time.
struct Chance(u32);

impl Chance {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 8) as usize % count.max(1)
    }
}

/// A sound workbook with a few bytes changed is read or told, and never more.
#[test]
fn damaged_workbooks_are_told() {
    let chart = sheet_of(&[&["connector", "cavity"], &["J1", "1"]]);
    let row = "<table:table-row><table:table-cell/></table:table-row>";
    let sound = [xlsx(&[("J1", &chart)], "<si><t>x</t></si>"), ods(&[("x", row)])];
    let mut chance = Chance(7);
    for round in 0..1_000 {
        let mut bytes = sound[round % 2].clone();
        for _ in 0..=chance.below(4) {
            let at = chance.below(bytes.len());
            bytes[at] = chance.below(256) as u8;
        }
        bytes.truncate(if chance.below(4) == 0 { chance.below(bytes.len()) } else { bytes.len() });
        let _ = problems(bytes, &[None]);
    }
}

/// Likewise its XML, in which words that mean something are put in, taken out and repeated.
#[test]
fn odd_parts_are_told() {
    const WORDS: [&str; 40] = [
        "<row>",
        "</row>",
        "<c>",
        "</c>",
        "<v>",
        "</v>",
        "<f/>",
        "<is>",
        "</is>",
        "<t>",
        "</t>",
        "<c r=\"ZZZ99\"/>",
        "r=\"C0\"",
        " r=\"4294967295\"",
        " t=\"s\"",
        " t=\"d\"",
        " t=\"e\"",
        " s=\"1\"",
        "-1",
        "1e308",
        "9999999",
        "&#0;",
        "&x;",
        "&amp;",
        "_x0000_",
        "<mergeCell ref=\"A1:XFD1048576\"/>",
        "<mergeCell ref=\"C9:A1\"/>",
        "<sheetData/>",
        "</sheetData>",
        "<!-- -->",
        "<![CDATA[",
        "]]>",
        "<table:table-row table:number-rows-repeated=\"4294967295\">",
        "</table:table-row>",
        "<table:covered-table-cell/>",
        " table:number-columns-repeated=\"7\"",
        " table:number-rows-spanned=\"9\"",
        "<text:p>",
        "</text:p>",
        "\t\n\r",
    ];
    let xlsx_sheet = sheet_of(&[&["connector", "cavity", "circuit"], &["J1", "1", "E1"], &["J2", "a\nb", "E1"]]);
    let cell = |text: &str| {
        format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>")
    };
    let row = |cells: [&str; 2]| format!("<table:table-row>{}{}</table:table-row>", cell(cells[0]), cell(cells[1]));
    let ods_sheet = row(["connector", "cavity"]) + &row(["J1", "1"]);
    let mut chance = Chance(11);
    for round in 0..1_000 {
        let mut sheet = if round % 2 == 0 { xlsx_sheet.clone() } else { ods_sheet.clone() };
        for _ in 0..=chance.below(5) {
            let place = |chance: &mut Chance, text: &str| {
                let at = chance.below(text.len() + 1);
                (at..=text.len()).find(|&at| text.is_char_boundary(at)).unwrap_or(0)
            };
            let at = place(&mut chance, &sheet);
            match chance.below(3) {
                0 => sheet.insert_str(at, WORDS[chance.below(WORDS.len())]),
                1 => {
                    let end = (at + chance.below(12)).min(sheet.len());
                    if sheet.is_char_boundary(end) {
                        sheet.replace_range(at..end, "");
                    }
                }
                _ => {
                    let from = place(&mut chance, &sheet[..at]);
                    let part = sheet[from..at].to_owned();
                    sheet.insert_str(at, &part);
                }
            }
        }
        let bytes = if round % 2 == 0 { xlsx(&[("J1", &sheet)], "<si><t>x</t></si>") } else { ods(&[("x", &sheet)]) };
        let _ = problems(bytes, &[None]);
    }
}
