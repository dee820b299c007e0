//! THE JOB FOLDER: job.toml and the lists beside it.
//!
//! In: a folder. Out: a [`Job`], every setting checked and with its default resolved, and the bytes of its lists. What is
//! wrong in job.toml is a problem with line and column; what the disk refuses is a [`JobFailure`].

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use thiserror::Error;

use super::bounded;
use super::kinds::{self, AtHand, KindRule, check_at_hand};
use super::letters::read_letters;
use super::named_lists::{CONNECTORS_FILES, NamedList, file_names, lists_in, read_insulation, read_lists, read_words};
use super::overlay::Overlay;
use super::problems::{JOB_NOT_UTF8, LIST_NOT_FOUND, UNREADABLE_LIST};
use super::rating::read_rating;
use super::reuse::read_reuse;
use super::rules;
use super::settings::{
    FontSettings, PayloadSettings, Printer, TagSettings, WordingSettings, check_sleeve_printer, read_fonts,
    read_payload, read_printer, read_tags, read_wordings,
};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::settings::{self, Reader, Table};
use crate::base::{Checked, Insulation, Length, Origin, Problem, Source, Stated};
use crate::circuits::rating::Rating;
use crate::circuits::{Action, ActionRule, List, ListSettings, OwnWords};
use crate::layout::Floors;
use crate::pages::{PrinterKind, Stock};

/// Name of the settings file of a job folder.
pub const JOB_FILE: &str = "job.toml";
/// A job folder with its settings, all checked.
#[derive(Clone, Debug)]
pub struct Job {
    folder: PathBuf,
    overlay: Overlay,
    source: Arc<Source>,
    title: Stated<String>,
    lists: Vec<NamedList>,
    payload: PayloadSettings,
    printer: Printer,
    sleeve_printer: Option<Printer>,
    tags: TagSettings,
    kind_rules: Vec<KindRule>,
    rules: Vec<ActionRule>,
    floors: Floors,
    wordings: WordingSettings,
    insulation: Option<Insulation>,
    fonts: FontSettings,
    rating: Option<Rating>,
    slack: Length,
    words: OwnWords,
}

/// What kept a job folder from being read.
#[derive(Debug, Error)]
pub enum JobFailure {
    /// The folder is not there.
    #[error("there is no folder `{}`: name the job folder with --job, or write a new one with `loomtag init`", .0.display())]
    NoFolder(PathBuf),
    /// The folder holds no job.toml.
    #[error("`{}` holds no job.toml: `loomtag init` writes one there, or name the job folder with --job", .0.display())]
    NoJobFile(PathBuf),
    /// The disk refused.
    #[error("cannot read `{}`: {source}", path.display())]
    Read {
        /// What was to be read.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
}

impl Job {
    /// Reads job.toml of a folder. The value is `None` when the file as a whole cannot be understood; otherwise settings in
    /// error hold their defaults.
    ///
    /// # Errors
    /// [`JobFailure`] when folder or job.toml are missing or cannot be read.
    pub fn read(folder: &Path) -> Result<Checked<Option<Self>>, JobFailure> {
        Self::read_with(folder, &Overlay::default())
    }

    /// The same, with other files laid over those of the folder: the job as it would be.
    ///
    /// # Errors
    /// [`JobFailure`] when folder or job.toml are missing or cannot be read.
    pub(super) fn read_with(folder: &Path, overlay: &Overlay) -> Result<Checked<Option<Self>>, JobFailure> {
        if !folder.is_dir() {
            return Err(JobFailure::NoFolder(folder.to_owned()));
        }
        let path = folder.join(JOB_FILE);
        let laid = overlay.get(JOB_FILE).map(|text| Ok(text.to_vec()));
        let bytes = laid.unwrap_or_else(|| bounded::read_settings(&path)).map_err(|source| match source.kind() {
            io::ErrorKind::NotFound => JobFailure::NoJobFile(folder.to_owned()),
            _ => JobFailure::Read { path, source },
        })?;
        let text = match String::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => {
                let valid = error.utf8_error().valid_up_to();
                let source = Source::new(JOB_FILE, String::from_utf8_lossy(error.as_bytes()));
                let problem = JOB_NOT_UTF8
                    .says(format!("`{JOB_FILE}` is not UTF-8 text"))
                    .at(Origin::new(&source, valid..valid + char::REPLACEMENT_CHARACTER.len_utf8()))
                    .remedy("save the file with the encoding UTF-8");
                return Ok(Checked { value: None, problems: vec![problem] });
            }
        };
        let mut job = Self::from_text(folder, &text);
        if let Some(job) = &mut job.value {
            job.overlay = overlay.clone();
            if job.lists.is_empty() {
                job.lists = lists_in(folder, overlay)?;
                let settings = job.unnamed_list_settings();
                job.lists.iter_mut().for_each(|list| list.settings = settings.clone());
            }
        }
        Ok(job)
    }

    /// A job from the text of its job.toml. Where that names no lists, it has none.
    pub fn from_text(folder: &Path, text: &str) -> Checked<Option<Self>> {
        let source = Source::new(JOB_FILE, text);
        settings::read(&source, |reader, top| read_job(reader, top, folder, &source))
    }

    /// What holds for lists that job.toml does not name.
    fn unnamed_list_settings(&self) -> ListSettings {
        let (action, supply) = (self.words.blank_action(), self.words.blank_supply());
        ListSettings { action, supply, words: self.words.clone(), ..ListSettings::default() }
    }

    /// The bytes of all lists, in the order of job.toml. One that cannot be read is a problem where job.toml names it; the
    /// others are read all the same.
    pub fn lists(&self) -> Checked<Vec<List>> {
        let mut read = Checked { value: Vec::new(), problems: Vec::new() };
        for list in &self.lists {
            match self.bytes_of(&list.file.value) {
                Ok(bytes) => {
                    let (name, settings) = (list.file.value.clone(), list.settings.clone());
                    read.value.push(List { name, bytes, settings });
                }
                Err(problem) => read.problems.push(list.file.point(*problem)),
            }
        }
        read
    }

    /// The bytes of connectors.csv, or of the workbook in its place, if the folder has one.
    pub fn connectors(&self) -> Checked<Option<List>> {
        let Some(file) = CONNECTORS_FILES.into_iter().find(|file| self.overlay.has(&self.folder, file)) else {
            return Checked { value: None, problems: Vec::new() };
        };
        let settings = ListSettings { words: self.words.clone(), ..ListSettings::default() };
        let list = |bytes| List { name: file.to_owned(), bytes, settings };
        match self.bytes_of(file) {
            Ok(bytes) => Checked { value: Some(list(bytes)), problems: Vec::new() },
            Err(problem) => Checked { value: None, problems: vec![*problem] },
        }
    }

    fn bytes_of(&self, file: &str) -> Result<Vec<u8>, Box<Problem>> {
        let told = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound => {
                let problem = LIST_NOT_FOUND.says(format!("the job folder holds no `{file}`"));
                let names: Vec<String> = lists_in(&self.folder, &self.overlay).map(file_names).unwrap_or_default();
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                if names.is_empty() {
                    problem.remedy("put the list into the job folder")
                } else {
                    problem.remedy(did_you_mean_or_choose(file, &names))
                }
            }
            _ => UNREADABLE_LIST
                .says(format!("`{file}` cannot be read: {error}"))
                .remedy("check that it is a file and that you may read it"),
        };
        self.overlay.read(&self.folder, file).map_err(|error| Box::new(told(error)))
    }

    /// The lists, with what holds for reading each.
    pub(super) fn named_lists(&self) -> &[NamedList] {
        &self.lists
    }

    /// The action that a word stands for, in the words of an action column and of this job; `Err` names the nearest known word when
    /// there is one.
    pub fn action(&self, typed: &str) -> Result<Action, Option<String>> {
        self.words.action(typed).map_err(|near| near.map(str::to_owned))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// job.toml as it was read.
    pub const fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// The title; without one, the folder's name.
    pub fn title(&self) -> &str {
        &self.title.value
    }

    /// File names of the lists, in the order they are read.
    pub fn list_names(&self) -> impl Iterator<Item = &Stated<String>> {
        self.lists.iter().map(|list| &list.file)
    }

    /// How a list, or a sheet of one, is read.
    pub fn settings_of(&self, file: &str, sheet: Option<&str>) -> ListSettings {
        let of_file = || self.lists.iter().filter(|list| list.file.value == file).map(|list| &list.settings);
        let names = |settings: &&ListSettings| settings.sheet.as_ref().map(|named| named.value.as_str()) == sheet;
        of_file().find(names).or_else(|| of_file().next()).cloned().unwrap_or_default()
    }

    /// What the symbols carry.
    pub const fn payload(&self) -> &PayloadSettings {
        &self.payload
    }

    /// The printer of sheets and paper.
    pub const fn printer(&self) -> &Printer {
        &self.printer
    }

    /// The printer of labels: the one of sheets, unless the stock is declared for the one of tube alone.
    pub fn printer_of(&self, stock: &Stock) -> &Printer {
        let is_for = |printer: &Printer| stock.printers().contains(&printer.kind.value);
        let tube_printer = self.sleeve_printer().filter(|printer| is_for(printer));
        tube_printer.filter(|_| !is_for(&self.printer)).unwrap_or(&self.printer)
    }

    /// The printer of heat-shrink tube; only with one are sleeves offered.
    pub const fn sleeve_printer(&self) -> Option<&Printer> {
        self.sleeve_printer.as_ref()
    }

    /// Names of the wordings of tags.
    pub const fn wordings(&self) -> &WordingSettings {
        &self.wordings
    }

    /// The insulation of wires of which no list says it.
    pub const fn insulation(&self) -> Option<Insulation> {
        self.insulation
    }

    /// Font files for characters that the faces of the program lack.
    pub const fn fonts(&self) -> &FontSettings {
        &self.fonts
    }

    /// The table that fuses are compared with, if any.
    pub const fn rating(&self) -> Option<Rating> {
        self.rating
    }

    /// What a wire is cut longer than its way, at each end, where one is used again.
    pub const fn slack(&self) -> Length {
        self.slack
    }

    /// Rules for the kinds of tags, in their order.
    pub fn kind_rules(&self) -> &[KindRule] {
        &self.kind_rules
    }

    /// Rules for the actions of many ends, in their order.
    pub fn rules(&self) -> &[ActionRule] {
        &self.rules
    }

    /// Letter heights and faces, before a printer raises them.
    pub const fn floors(&self) -> Floors {
        self.floors
    }

    /// Kinds and stocks of the tags.
    pub const fn tags(&self) -> &TagSettings {
        &self.tags
    }
}

/// What a folder is called, also where the path is only `.`.
pub(super) fn folder_name(folder: &Path) -> String {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(|| "job".to_owned(), |name| name.to_string_lossy().into_owned())
}

fn read_job(reader: &mut Reader, top: &Table<'_>, folder: &Path, source: &Arc<Source>) -> Job {
    reader.expect_keys(
        top,
        &[],
        &[
            "title",
            "list",
            "payload",
            "printer",
            "sleeve_printer",
            "tags",
            "kind",
            "rule",
            "letters",
            "wires",
            "wording",
            "fonts",
            "rating",
            "reuse",
            "words",
        ],
    );
    let words = read_words(reader, top);
    let title = reader.text(top, "title").unwrap_or_else(|| Stated::default(folder_name(folder)));
    let lists = read_lists(reader, top, &words);
    let payload = read_payload(reader, top);
    let printer = reader.table(top, "printer");
    let printer = read_printer(reader, printer.as_ref(), (PrinterKind::Laser, 600));
    let sleeve_printer = reader.table(top, "sleeve_printer");
    let sleeve_printer =
        sleeve_printer.map(|table| read_printer(reader, Some(&table), (PrinterKind::ThermalTransfer, 300)));
    if let Some(printer) = &sleeve_printer {
        check_sleeve_printer(reader, printer);
    }
    let tags = reader.table(top, "tags");
    let tags = read_tags(reader, tags.as_ref());
    let kind_rules = kinds::read_rules(reader, top);
    let rules = rules::read_rules(reader, top);
    let asked = [("work", &tags.work), ("final", &tags.final_tag)].into_iter();
    let asked = asked.chain(tags.connectors.iter().map(|kind| ("connectors", kind)));
    let asked = asked.chain(kind_rules.iter().map(|rule| ("kind", &rule.kind)));
    let at_hand = AtHand { wraps: tags.wrap_stock.is_some(), sleeves: sleeve_printer.is_some() };
    check_at_hand(reader, asked, at_hand);
    let (face, face_with_symbol) = (tags.least_face, tags.least_face_with_symbol);
    let floors = Floors { face, face_with_symbol, ..read_letters(reader, top) };
    let wordings = reader.table(top, "wording");
    let wordings = read_wordings(reader, wordings.as_ref());
    let fonts = read_fonts(reader, top);
    let rating = read_rating(reader, top);
    let slack = read_reuse(reader, top);
    let (folder, source) = (folder.to_owned(), Arc::clone(source));
    let insulation = reader.table(top, "wires").and_then(|table| {
        reader.expect_keys(&table, &[], &["insulation"]);
        read_insulation(reader, &table)
    });
    Job {
        folder,
        overlay: Overlay::default(),
        source,
        title,
        lists,
        payload,
        printer,
        sleeve_printer,
        tags,
        kind_rules,
        rules,
        floors,
        wordings,
        fonts,
        insulation,
        rating,
        slack,
        words,
    }
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "tests set up the folders they read")]
mod tests {
    use super::super::settings::SymbolText;
    use super::*;
    use crate::base::conductor::SizeUnit;
    use crate::base::{ConnectorId, Length, TagKind};
    use crate::circuits::Form;
    use crate::layout::flag::Posture;
    use proptest::prelude::*;

    fn job(text: &str) -> Checked<Option<Job>> {
        Job::from_text(Path::new("harbour/skiff"), text)
    }

    /// Every problem as `line:column id message | remedy`.
    fn told(text: &str) -> Vec<String> {
        let told = |problem: &Problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{at} {} {} | {}", problem.id, problem.message, problem.remedy.as_deref().unwrap_or("-"))
        };
        job(text).problems.iter().map(told).collect()
    }

    #[test]
    fn an_empty_file_is_a_job() {
        let checked = job("");
        assert_eq!(checked.problems, []);
        let job = checked.value.expect("understood");
        assert_eq!((job.title(), job.payload().symbol.value), ("skiff", SymbolText::Text));
        assert_eq!((job.printer().kind.value, job.printer().dpi.value), (PrinterKind::Laser, 600));
        assert_eq!(job.printer().edges.bottom, Length::mm(5.0));
        assert_eq!(job.tags().final_tag.value, TagKind::Strip);
        assert_eq!(job.tags().setback.value, Length::mm(150.0));
        assert!(job.sleeve_printer().is_none());
    }

    #[test]
    fn settings_come_with_their_places() {
        let text = "[payload]\nbase = \"HTTP://SKIFF.LOCAL\"\n[printer]\nkind = \"inkjet\"\nedges = { left = 3.5 }\n\
                    [tags]\nwork_stock = \"own-flags\"\nsetback = 80\n";
        let checked = job(text);
        assert_eq!(checked.problems, []);
        let job = checked.value.expect("understood");
        assert_eq!(job.payload().symbol.value, SymbolText::Link);
        assert_eq!(job.printer().edges.left, Length::mm(3.5));
        assert_eq!(job.printer().edges.bottom, Length::mm(13.0));
        assert_eq!(job.tags().setback.value, Length::mm(80.0));
        let origin = job.tags().work_stock.origin.as_ref().expect("written");
        assert_eq!(origin.to_string(), "job.toml:7:14");
    }

    #[test]
    fn lists_keep_what_is_said_of_them() {
        let text = "[[list]]\nfile = \"charts/j1.csv\"\nconnector = \"J1\"\nsize_unit = \"awg\"\n\
                    columns = { circuit = \"Signal no.\" }\n[[list]]\nfile = \"wires.csv\"\nform = \"wire\"\n";
        let checked = job(text);
        assert_eq!(checked.problems, []);
        let job = checked.value.expect("understood");
        let first = &job.lists[0];
        assert_eq!(first.file.value, "charts/j1.csv");
        assert_eq!(first.settings.connector.as_ref().map(ConnectorId::as_str), Some("J1"));
        assert_eq!(first.settings.size_unit, Some(SizeUnit::Awg));
        assert_eq!(first.settings.columns.get("circuit").map(String::as_str), Some("Signal no."));
        assert_eq!(job.lists[1].settings.form, Some(Form::Wire));
        assert_eq!(job.insulation(), None);
    }

    /// In the words that lists have for it: standard words and type letters, in any case.
    #[test]
    fn the_insulation_of_a_job_and_of_a_list() {
        let text = "[wires]\ninsulation = \"thin-wall\"\n[[list]]\nfile = \"a.csv\"\ninsulation = \"GXL\"\n[[list]]\nfile = \"b.csv\"\n";
        let checked = job(text);
        assert_eq!(checked.problems, []);
        let job = checked.value.expect("understood");
        let of_lists: Vec<_> = job.lists.iter().map(|list| list.settings.insulation).collect();
        assert_eq!(of_lists, [Some(Insulation::ThickWall), None]);
        assert_eq!(job.insulation(), Some(Insulation::ThinWall));
        assert_eq!(
            told("[wires]\ninsulation = \"thin-wal\"\nwall = 1\n[[list]]\nfile = \"a.csv\"\ninsulation = \"rubber\"\n"),
            [
                "job.toml:2:14 unknown-word `insulation` cannot be `thin-wal` | did you mean `thin-wall`?",
                "job.toml:3:1 unknown-setting [wires] has no setting `wall` | choose from `insulation`",
                "job.toml:6:14 unknown-word `insulation` cannot be `rubber` | choose from `ultra-thin-wall`, `thin-wall`, \
                 `thick-wall`, `special-purpose`, `hook-up 300 V`, `hook-up 600 V`, `boat cable`",
            ]
        );
    }

    #[test]
    fn what_is_wrong_is_told_with_place_and_remedy() {
        assert_eq!(
            told("titel = \"x\"\n[printer]\nkind = \"lazer\"\ndpi = 6\n[tags]\nsetback = \"far\"\n"),
            [
                "job.toml:1:1 unknown-setting job.toml has no setting `titel` | did you mean `title`?",
                "job.toml:3:8 unknown-word `kind` cannot be `lazer` | did you mean `laser`?",
                "job.toml:4:7 number-out-of-range `dpi` cannot be 6 dots an inch | write a number from 100 to 4800",
                "job.toml:6:11 not-a-length `setback` is `far`, which is not a length | write a number of mm (`3.2`), or a number \
                 with its unit in quotes (`\"1/8 in\"`)",
            ]
        );
        assert_eq!(
            told("[[list]]\nconnector = \"J1\"\n[[list]]\nfile = \"a.csv\"\n[[list]]\nfile = \"a.csv\"\n"),
            [
                "job.toml:1:1 missing-setting `file` is missing in [[list]] | add `file` to [[list]]",
                "job.toml:6:8 list-named-twice `a.csv` is named twice | leave one of the two [[list]] tables out",
            ]
        );
    }

    #[test]
    fn a_workbook_may_be_named_once_for_each_sheet() {
        let list = |sheet: &str| format!("[[list]]\nfile = \"pins.xlsx\"\n{sheet}\n");
        let text = list("sheet = \"J1\"") + &list("sheet = \"J2\"\nconnector = \"J2\"");
        let checked = job(&text);
        assert_eq!(checked.problems, []);
        let sheets = checked.value.expect("understood").lists.into_iter().filter_map(|list| list.settings.sheet);
        assert_eq!(sheets.map(|sheet| sheet.value).collect::<Vec<_>>(), ["J1", "J2"]);
        let remedy = "leave one of the two [[list]] tables out, or name another `sheet` in each";
        assert_eq!(
            told(&(text.clone() + &list("sheet = \"J1\""))),
            [format!("job.toml:9:8 list-named-twice sheet `J1` of `pins.xlsx` is named twice | {remedy}")]
        );
        assert_eq!(
            told(&(text + &list(""))),
            [format!("job.toml:9:8 list-named-twice `pins.xlsx` is named twice | {remedy}")]
        );
    }

    #[test]
    fn lists_stay_inside_the_folder() {
        for file in ["../a.csv", "/etc/a.csv", "charts/../../a.csv", r"..\\a.csv", "C:a.csv"] {
            let told = told(&format!("[[list]]\nfile = \"{file}\"\n"));
            assert!(told.len() == 1 && told[0].contains("list-outside-job"), "{file}: {told:?}");
        }
    }

    #[test]
    fn fonts_are_files_of_the_folder() {
        let job = job("[fonts]\nfallback = [\"fonts/own.ttf\", \"fonts/many.ttc#2\", \"no#font.otf\"]\n");
        assert_eq!(job.problems, []);
        let fonts = &job.value.expect("understood").fonts;
        let names: Vec<_> = fonts.fallback.iter().map(|font| (font.value.file.as_str(), font.value.number)).collect();
        assert_eq!(names, [("fonts/own.ttf", 0), ("fonts/many.ttc", 2), ("no#font.otf", 0)]);
        assert_eq!(
            told("[fonts]\nfallback = [\"../own.ttf\"]\n"),
            [
                "job.toml:2:13 font-outside-job `../own.ttf` is not inside the job folder | copy the font file into the job folder \
              and name it from there, with `/` between folders"
            ]
        );
        let many = format!("[fonts]\nfallback = [{}]\n", "\"a.ttf\", ".repeat(17));
        assert!(matches!(&told(&many)[..], [one] if one.contains("too-many-fonts `a.ttf` is font number 17")));
        assert!(told("[fonts]\nfallbacks = []\n")[0].ends_with("did you mean `fallback`?"));
    }

    #[test]
    fn sleeves_need_a_printer_that_can_make_them() {
        assert!(told("[tags]\nfinal = \"sleeve\"")[0].starts_with("job.toml:2:9 no-sleeve-printer"));
        assert!(told("[sleeve_printer]\nkind = \"laser\"")[0].starts_with("job.toml:2:8 unfit-sleeve-printer"));
        assert!(told("[payload]\nsymbol = \"link\"")[0].starts_with("job.toml:2:10 link-without-base"));
    }

    #[test]
    fn kinds_need_what_they_are_made_of() {
        assert_eq!(
            told("[tags]\nwork = \"wrap\"\n[[kind]]\nkind = \"sleeve\"\nthicker = 3\n"),
            [
                "job.toml:2:8 no-wrap-stock `work` is `wrap`, but the job names no stock for wraps | add `wrap_stock` to [tags], \
                 such as \"a4-49-25x38-wrap13\"",
                "job.toml:4:8 no-sleeve-printer `kind` is `sleeve`, but the job names no sleeve printer | add a table \
                 [sleeve_printer], or choose `strip`, which an office printer can make",
            ]
        );
        let text = "[tags]\nwork = \"tie-on\"\nposture = \"hanging\"\nwrap_stock = \"own\"\nleast_face = 10\n\
                    longest_strip = \"3 in\"\n[[kind]]\nkind = \"wrap\"\nconnector = \"J1\"\n[letters]\ncode_least = 2\n";
        let checked = job(text);
        assert_eq!(checked.problems, []);
        let job = checked.value.expect("understood");
        assert_eq!((job.tags().work.value, job.tags().posture), (TagKind::TieOn, Posture::Hanging));
        assert_eq!((job.tags().longest_strip, job.kind_rules().len()), (Length::inch(3.0), 1));
        assert_eq!((job.floors().face, job.floors().code_least), (Length::mm(10.0), Length::mm(2.0)));
        assert_eq!(job.floors().face_with_symbol, Length::mm(14.0));
        assert_eq!(
            told("[tags]\nposture = \"lying\"\nleast_face = 1\n"),
            [
                "job.toml:2:11 unknown-word `posture` cannot be `lying` | choose from `standing`, `hanging`",
                "job.toml:3:14 length-out-of-range `least_face` cannot be 1 mm | write a length from 5 mm to 1000 mm",
            ]
        );
    }

    #[test]
    fn broken_syntax_is_a_problem_with_its_place() {
        let checked = job("title = \"x\"\n[tags\nwork = flag\n");
        assert!(checked.value.is_none() && checked.has_errors());
        assert_eq!(checked.problems[0].origin.as_ref().and_then(Origin::line), Some(2));
    }

    #[test]
    fn the_folder_is_read_and_what_is_missing_is_told() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let missing = folder.path().join("nowhere");
        assert!(matches!(Job::read(&missing), Err(JobFailure::NoFolder(_))));
        assert!(matches!(Job::read(folder.path()), Err(JobFailure::NoJobFile(_))));
        for name in ["b.csv", "a.CSV", "connectors.csv", "notes.txt"] {
            std::fs::write(folder.path().join(name), name).expect("written");
        }
        std::fs::write(folder.path().join(JOB_FILE), "").expect("written");
        let job = Job::read(folder.path()).expect("read").value.expect("understood");
        let names: Vec<String> = job.lists().value.into_iter().map(|list| list.name).collect();
        assert_eq!(names, ["a.CSV", "b.csv"]);
        assert_eq!(job.connectors().value.expect("there").bytes, b"connectors.csv");

        std::fs::write(folder.path().join(JOB_FILE), "[[list]]\nfile = \"c.csv\"\n[[list]]\nfile = \"b.csv\"\n")
            .expect("written");
        let lists = Job::read(folder.path()).expect("read").value.expect("understood").lists();
        assert_eq!(lists.value.len(), 1);
        assert_eq!(lists.problems[0].id, "list-not-found");
        assert_eq!(lists.problems[0].origin.as_ref().map(ToString::to_string).as_deref(), Some("job.toml:2:8"));

        std::fs::write(folder.path().join(JOB_FILE), b"title = \"x\"\n\xff").expect("written");
        let broken = Job::read(folder.path()).expect("read");
        assert!(broken.value.is_none() && broken.problems[0].origin.as_ref().and_then(Origin::line) == Some(2));
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in "(\\[\\[?(list|tags|printer|x)\\]\\]?|[a-z_]{1,6}|=|\"|\\.|[0-9]|\n|\\{|\\}|ä| ){0,30}") {
            let _ = job(&text);
        }
    }
}
