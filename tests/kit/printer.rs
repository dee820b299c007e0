//! The test printer of the CUPS project, `ippeveprinter` (Debian: cups-ipp-utils), started on a port of its own for one test.
//!
//! It insists on announcing itself by DNS-SD; `tests/printer/no_dns_sd.c` is loaded before it and says that all went well. What
//! arrives is kept by a command of ours, together with what the printer tells that command of the job.

use std::fs;
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::thread;
use std::time::Duration;

use tempfile::TempDir;

use super::project;

/// What the printer is, in the form of its attribute files.
#[derive(Clone, Debug)]
pub struct Attributes {
    /// `x-dimension` and `y-dimension` in hundredths of a millimetre, with the name of the size.
    pub sizes: Vec<(u32, u32, &'static str)>,
    /// Smallest and largest width and height that it takes besides, in hundredths of a millimetre.
    pub custom: Option<[u32; 4]>,
    /// Keywords of `print-scaling-supported`; none: it does not tell.
    pub scaling: &'static str,
    /// Whether it takes PDF beside PWG raster.
    pub takes_pdf: bool,
    /// Keywords of `pwg-raster-document-type-supported`.
    pub pixels: &'static str,
    /// Dots an inch.
    pub resolutions: &'static str,
    /// Lines that are added as they are.
    pub more: &'static str,
}

impl Attributes {
    /// An office printer with A4 in it.
    pub fn sheets() -> Self {
        Self {
            sizes: vec![(21000, 29700, "iso_a4_210x297mm"), (21590, 27940, "na_letter_8.5x11in")],
            custom: None,
            scaling: "auto,fill,fit,none",
            takes_pdf: true,
            pixels: "black_1,sgray_8,srgb_8",
            resolutions: "600dpi",
            more: "",
        }
    }

    /// A label printer with a roll of 62 x 29 mm labels.
    pub fn roll() -> Self {
        Self {
            sizes: vec![(6200, 2900, "om_address-label_62x29mm")],
            resolutions: "300dpi",
            pixels: "black_1",
            ..Self::sheets()
        }
    }

    /// As the printer's attribute file says it (the format of CUPS, ippeveprinter.1 and ipptoolfile.5).
    fn text(&self) -> String {
        let size = |width: u32, height: u32| {
            format!(
                "MEMBER collection media-size {{ MEMBER integer x-dimension {width} MEMBER integer y-dimension {height} }}"
            )
        };
        let list = |separator: &str, each: &dyn Fn(&(u32, u32, &str)) -> String| {
            self.sizes.iter().map(each).collect::<Vec<_>>().join(separator)
        };
        let names = list(",", &|(_, _, name)| (*name).to_owned());
        let database = list(",", &|(width, height, _)| format!("{{ {} }}", size(*width, *height)));
        let mut supported = list(",", &|(width, height, _)| {
            format!("{{ MEMBER integer x-dimension {width} MEMBER integer y-dimension {height} }}")
        });
        if let Some([least_width, least_height, most_width, most_height]) = self.custom {
            supported.push_str(&format!(
                ",{{ MEMBER rangeOfInteger x-dimension {least_width}-{most_width} MEMBER rangeOfInteger y-dimension \
                 {least_height}-{most_height} }}"
            ));
        }
        let (width, height, first) = self.sizes[0];
        let first_resolution = self.resolutions.split(',').next().expect("one");
        let mut lines = vec![
            "ATTR boolean color-supported true".to_owned(),
            "ATTR integer copies-default 1".to_owned(),
            "ATTR rangeOfInteger copies-supported 1-99".to_owned(),
            format!("ATTR collection media-col-default {{ {} }}", size(width, height)),
            format!("ATTR collection media-col-ready {{ {} }}", size(width, height)),
            format!("ATTR collection media-col-database {database}"),
            format!("ATTR collection media-size-supported {supported}"),
            format!("ATTR keyword media-default {first}"),
            format!("ATTR keyword media-ready {first}"),
            format!("ATTR keyword media-supported {names}"),
            "ATTR keyword print-color-mode-default auto".to_owned(),
            "ATTR keyword print-color-mode-supported auto,color,monochrome".to_owned(),
            format!("ATTR resolution printer-resolution-default {first_resolution}"),
            format!("ATTR resolution printer-resolution-supported {}", self.resolutions),
            format!("ATTR resolution pwg-raster-document-resolution-supported {}", self.resolutions),
            format!("ATTR keyword pwg-raster-document-type-supported {}", self.pixels),
            "ATTR keyword sides-default one-sided".to_owned(),
            "ATTR keyword sides-supported one-sided".to_owned(),
        ];
        if !self.scaling.is_empty() {
            lines.push("ATTR keyword print-scaling-default auto".to_owned());
            lines.push(format!("ATTR keyword print-scaling-supported {}", self.scaling));
        }
        if self.takes_pdf {
            lines.push("ATTR mimeMediaType document-format-supported application/pdf,image/pwg-raster".to_owned());
        }
        lines.push(self.more.to_owned());
        lines.join("\n") + "\n"
    }
}

/// A test printer that runs until it goes out of scope.
pub struct TestPrinter {
    child: Child,
    folder: TempDir,
    port: u16,
}

/// What arrived at the printer.
pub struct Arrived {
    /// The document.
    pub path: PathBuf,
    /// `IPP_MEDIA=…` and the like, as the printer tells its command.
    told: String,
}

impl Arrived {
    /// What the printer tells of an attribute: `MEDIA_COL`, `PRINT_SCALING`.
    pub fn told(&self, name: &str) -> Option<&str> {
        self.told.lines().find_map(|line| line.strip_prefix("IPP_")?.strip_prefix(name)?.strip_prefix('='))
    }

    /// The media type of the document.
    pub fn format(&self) -> &str {
        self.told.lines().find_map(|line| line.strip_prefix("CONTENT_TYPE=")).expect("the printer tells it")
    }
}

impl TestPrinter {
    /// Starts one that prints whatever comes.
    pub fn start(attributes: &Attributes) -> Self {
        Self::start_with(attributes, "exit 0")
    }

    /// Starts one whose command ends with these lines of shell: lines `STATE: +media-empty` on standard error set the printer's
    /// state, an exit code that is not 0 aborts the job.
    pub fn start_with(attributes: &Attributes, ends_with: &str) -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        let path = |name: &str| folder.path().join(name);
        for name in ["spool", "keys", "arrived"] {
            fs::create_dir(path(name)).expect("made");
        }
        fs::write(path("printer.conf"), attributes.text()).expect("written");
        let arrived = path("arrived");
        let arrived = arrived.display();
        let command = format!(
            "#!/bin/sh\nn=$(ls '{arrived}' | grep -c '[.]told$')\ncp \"$1\" '{arrived}'/$n\nenv >'{arrived}'/$n.told\n{ends_with}\n"
        );
        fs::write(path("command"), command).expect("written");
        fs::set_permissions(path("command"), fs::Permissions::from_mode(0o755)).expect("set");
        let port = free_port();
        let log = fs::File::create(path("log")).expect("made");
        let child = Command::new("ippeveprinter")
            .args(["-vv", "-k", "-r", "off", "--no-web-forms", "-n", "localhost", "-p", &port.to_string()])
            .args(["-d".as_ref(), path("spool").as_os_str(), "-K".as_ref(), path("keys").as_os_str()])
            .args(["-a".as_ref(), path("printer.conf").as_os_str(), "-c".as_ref(), path("command").as_os_str()])
            .arg("bench printer")
            .env("LD_PRELOAD", no_dns_sd())
            .env("HOME", folder.path())
            .stdin(Stdio::null())
            .stdout(log.try_clone().expect("a second handle"))
            .stderr(log)
            .spawn();
        let child = child.unwrap_or_else(|why| {
            panic!("missing: ippeveprinter ({why}); apt-get install cups-ipp-utils, or sh tests/run")
        });
        let mut printer = Self { child, folder, port };
        assert!(printer.answers(), "the test printer does not start:\n{}", printer.log());
        printer
    }

    /// What it says of its connections and jobs.
    pub fn log(&self) -> String {
        read_lossy(&self.folder.path().join("log"))
    }

    /// Waits until it takes connections.
    fn answers(&mut self) -> bool {
        for _ in 0..200 {
            if TcpStream::connect(("127.0.0.1", self.port)).is_ok() {
                return true;
            }
            if !matches!(self.child.try_wait(), Ok(None)) {
                return false;
            }
            thread::sleep(Duration::from_millis(50));
        }
        false
    }

    /// `ipp://localhost:40123/ipp/print`.
    pub fn address(&self) -> String {
        format!("ipp://localhost:{}/ipp/print", self.port)
    }

    /// The same with encryption.
    pub fn encrypted(&self) -> String {
        self.address().replace("ipp://", "ipps://")
    }

    /// All that has arrived, in order.
    pub fn arrived(&self) -> Vec<Arrived> {
        let folder = self.folder.path().join("arrived");
        let all = (0..).map(|number| folder.join(number.to_string())).take_while(|path| path.exists());
        all.map(|path| Arrived { told: read_lossy(&path.with_extension("told")), path }).collect()
    }
}

impl Drop for TestPrinter {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn read_lossy(path: &Path) -> String {
    String::from_utf8_lossy(&fs::read(path).unwrap_or_default()).into_owned()
}

/// A port that nobody listens at now.
pub fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    listener.local_addr().expect("an address").port()
}

/// The library that stands in for DNS-SD, compiled once.
fn no_dns_sd() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        let library = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("no_dns_sd-{}.so", std::process::id()));
        let source = project().join("tests/printer/no_dns_sd.c");
        let output = Command::new("cc").args(["-shared", "-fPIC", "-o"]).arg(&library).arg(source).output();
        let output = output.unwrap_or_else(|why| panic!("missing: cc ({why}); apt-get install gcc, or sh tests/run"));
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        library
    })
}
