//! The program serving a job at a socket of its own, and a real browser that walks through it.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use super::project;
use super::served::PIN;

/// A server that is stopped with the test.
pub struct Running {
    child: Child,
    /// Where it answers: `http://localhost:40123`.
    pub url: String,
}

impl Running {
    /// Serves a folder on a free port of this machine.
    pub fn serve(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_loomtag"))
            .args(["serve", "--port", "0", "--pin", PIN])
            .arg(folder)
            .stdout(Stdio::piped())
            .spawn()
            .expect("starts");
        let mut lines = BufReader::new(child.stdout.take().expect("piped")).lines();
        let line = lines.find(|line| line.as_ref().is_ok_and(|line| line.contains("http://localhost:")));
        let line = line.expect("it says where it answers").expect("reads");
        let at = line.find("http://localhost:").expect("found");
        let url = line[at..].split_whitespace().next().expect("an address").trim_end_matches('/').to_owned();
        // What else it says must find a reader, or it would wait for one.
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, url }
    }

    /// Walks a script of `tests/browser` through the server: its address, the PIN and these arguments. What the script says is the
    /// answer.
    ///
    /// # Panics
    /// When it fails, with all that it said.
    pub fn walk(&self, script: &str, arguments: &[&str]) -> String {
        let walked = Command::new("node")
            .arg(project().join("tests/browser").join(script))
            .args([&self.url, PIN])
            .args(arguments)
            .output()
            .expect("node starts: `sh tests/run` installs it");
        let out = String::from_utf8_lossy(&walked.stdout).into_owned();
        assert!(walked.status.success(), "{script}: {out}\n{}", String::from_utf8_lossy(&walked.stderr));
        out
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
