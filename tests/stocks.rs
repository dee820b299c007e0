//! Every label stock with every printer resolution and symbol text: the whole example job on flags, wraps or plates, every symbol
//! read back.

use loomtag::pages;

use crate::kit::JobFolder;

/// Pages of labels, each with another resolution and symbol text than its neighbours in the list.
#[test]
fn the_example_prints_on_every_label_stock() {
    let variants = [("link", 203), ("text", 300), ("code", 600), ("text", 203), ("code", 300), ("link", 600)];
    let labels = pages::builtin()
        .iter()
        .filter_map(|(name, _)| pages::Stock::builtin(name))
        // The smallest labels are too short to be folded round a wire.
        .filter(|stock| stock.label(0).is_some() && stock.name() != "a4-189-25x10");
    let mut printed = 0;
    for (stock, (symbol, dpi)) in labels.zip(variants.into_iter().cycle()) {
        let name = stock.name();
        let (kind, key) = match stock.form(0) {
            pages::LabelForm::Plain => ("flag", "work_stock"),
            pages::LabelForm::Wrap { .. } => ("wrap", "wrap_stock"),
            pages::LabelForm::Plate(_) => ("tie-on", "tie_on_stock"),
        };
        let settings = format!(
            "title = \"Marsh Hen\"\n[[list]]\nfile = \"helm.csv\"\nsize_unit = \"awg\"\ncolumns = {{ circuit = \"wire no.\" }}\n\
             [[list]]\nfile = \"engine-plugs.csv\"\n[[list]]\nfile = \"j1-engine-control.csv\"\n\
             [payload]\nsymbol = \"{symbol}\"\nbase = \"HTTP://MARSHHEN.LOCAL:7117\"\n\
             [printer]\nkind = \"laser\"\ndpi = {dpi}\n[tags]\nwork = \"{kind}\"\n{key} = \"{name}\"\n"
        );
        let folder = JobFolder::example().and("job.toml", &settings);
        let answer = folder.run(&["tags", "--work", "--all"]);
        assert!(answer.code < 2, "{name} at {dpi} dpi with {symbol}: {}", answer.err);
        assert!(answer.out.contains("read back"), "{name} at {dpi} dpi with {symbol}: {}", answer.out);
        let file = format!("work-{name}.pdf");
        let tags = folder.tags("prints/run-0001").iter().filter(|tag| tag.file == file).count();
        assert!(tags > 20, "{name}: {tags} tags; {}", answer.out);
        printed += 1;
    }
    assert!(printed >= 22, "{printed}");
}
