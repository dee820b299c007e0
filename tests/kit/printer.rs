//! A printer for the tests: the CUPS project's test printer program on this machine, which keeps what arrives.
//!
//! It wants a discovery service and has no way to do without; `tests/printer/no_discovery.c` stands in for the library by which it
//! asks for one, so that tests need neither a daemon nor a network.

use std::fs;
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::thread;
use std::time::Duration;

use tempfile::TempDir;

use super::project;

/// A printer that goes away with the test.
pub struct TestPrinter {
    process: Child,
    folder: TempDir,
    port: u16,
}

impl TestPrinter {
    /// A printer with the attributes of `tests/printer/NAME.conf`, or with its own.
    pub fn start(attributes: Option<&str>) -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        for name in ["keep", "spool", "keys"] {
            fs::create_dir(folder.path().join(name)).expect("made");
        }
        let port = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr()).expect("a free port").port();
        let mut command = Command::new("ippeveprinter");
        command.args(["-vv", "-k", "-r", "off", "--no-web-forms", "-n", "localhost", "-p", &port.to_string()]);
        command.arg("-K").arg(folder.path().join("keys")).arg("-d").arg(folder.path().join("spool"));
        command.arg("-c").arg(project().join("tests/printer/command.sh"));
        match attributes {
            Some(name) => command.arg("-a").arg(project().join(format!("tests/printer/{name}.conf"))),
            None => command.args(["-f", "application/pdf"]),
        };
        let log = fs::File::create(folder.path().join("log")).expect("made");
        let errors = log.try_clone().expect("a second handle");
        let command = command.arg("Bench printer").env("LD_PRELOAD", no_discovery());
        let command = command.env("KEEP", folder.path().join("keep")).stdout(log).stderr(errors).stdin(Stdio::null());
        let process = command.spawn();
        let process = process.unwrap_or_else(|why| {
            panic!("missing: ippeveprinter ({why}); apt-get install cups-ipp-utils, or sh tests/run")
        });
        let printer = Self { process, folder, port };
        printer.wait();
        printer
    }

    fn wait(&self) {
        for _ in 0..200 {
            if TcpStream::connect(("localhost", self.port)).is_ok() {
                return;
            }
            thread::sleep(Duration::from_millis(50));
        }
        panic!("the test printer does not answer:\n{}", self.log());
    }

    /// What it wrote down of its doings.
    pub fn log(&self) -> String {
        fs::read_to_string(self.folder.path().join("log")).unwrap_or_default()
    }

    /// Has it say these lines while it prints, and end each job with this exit code.
    pub fn behaves(&self, says: &[&str], ends: i32) {
        let lines: String = says.iter().map(|line| format!("{line}\n")).collect();
        fs::write(self.keep().join("says"), lines).expect("written");
        fs::write(self.keep().join("ends"), ends.to_string()).expect("written");
    }

    /// Its address.
    pub fn address(&self) -> String {
        format!("ipp://localhost:{}/ipp/print", self.port)
    }

    fn keep(&self) -> PathBuf {
        self.folder.path().join("keep")
    }

    /// Where the document of a job lies, the first being 0.
    pub fn document(&self, number: usize) -> PathBuf {
        self.keep().join(format!("document-{number}"))
    }

    /// How many documents arrived.
    pub fn documents(&self) -> usize {
        (0..).take_while(|number| self.document(*number).exists()).count()
    }

    /// What was asked with it, as the printer understood it: `IPP_MEDIA`.
    pub fn asked(&self, number: usize, name: &str) -> Option<String> {
        let asked = fs::read_to_string(self.keep().join(format!("asked-{number}"))).expect("a job arrived");
        asked.lines().find_map(|line| Some(line.strip_prefix(name)?.strip_prefix('=')?.to_owned()))
    }
}

impl Drop for TestPrinter {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The stand-in for the discovery library, compiled once.
fn no_discovery() -> &'static Path {
    static LIBRARY: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, library) = LIBRARY.get_or_init(|| {
        let folder = TempDir::new().expect("a temporary folder");
        let library = folder.path().join("no_discovery.so");
        let mut compiler = Command::new("cc");
        compiler.args(["-shared", "-fPIC", "-o"]).arg(&library).arg(project().join("tests/printer/no_discovery.c"));
        let status = compiler.status().unwrap_or_else(|why| panic!("missing: cc ({why}); apt-get install gcc"));
        assert!(status.success(), "the stand-in for the discovery library does not compile");
        (folder, library)
    });
    library
}
