//! Pages in a real browser, without a window.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use serde::Deserialize;

/// Names under which Chromium is found.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/// A page in a browser takes seconds; longer is a hang.
pub(crate) const PATIENCE: Duration = Duration::from_secs(120);

/// Runs before anything on the page: keeps what goes wrong.
pub(crate) const EARLY: &str = "<script>window.wrong=[];\
addEventListener('error',function(e){wrong.push('error: '+e.message)});\
addEventListener('securitypolicyviolation',function(e){wrong.push('fetched: '+e.blockedURI)});\
console.error=console.warn=function(m){wrong.push('console: '+m)};</script>";

/// Runs when the page is shown: measures it.
const LATE: &str = include_str!("measure.js");

/// What a page is like at a given width.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Width of the window.
    pub width: f64,
    /// Width of what is in it.
    pub content_width: f64,
    /// Errors, and attempts to fetch something.
    pub wrong: Vec<String>,
    /// Pictures that are shown, and texts in them.
    pub pictures: usize,
    /// Texts in pictures.
    pub texts: usize,
    /// Pairs of texts of a picture that are one over the other.
    pub overlaps: Vec<String>,
    /// Texts that stick out of their picture.
    pub outside: Vec<String>,
    /// Smallest text of a picture, in pixels.
    pub smallest_text: f64,
    /// What the first picture says after the right arrow key was pressed.
    pub readout: String,
    /// Lines that mark a frequency in the pictures that are shown, after that.
    pub cursors: usize,
    /// Cells of tables with a text.
    pub cells: usize,
    /// Texts that stick out of their cell.
    pub spilt: Vec<String>,
    /// Controls without a name, or out of the order of the page.
    pub unnamed: Vec<String>,
    /// Ids and landmarks that are there twice.
    pub twice: Vec<String>,
    /// Texts that hardly stand out from their paper.
    pub faint: Vec<String>,
    /// Controls that are too small to be hit.
    pub small_targets: Vec<String>,
}

pub(crate) fn chromium() -> PathBuf {
    if let Some(named) = std::env::var_os("HANDOVER_BROWSER") {
        return named.into();
    }
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&folders)
        .flat_map(|folder| NAMES.map(|name| folder.join(name)))
        .find(|path| path.is_file());
    found.expect(
        "this test shows pages in Chromium, which is not installed: `apt-get install chromium`, or name \
         a browser of its kind in HANDOVER_BROWSER",
    )
}

/// Runs the browser and gives its output.
fn browse(folder: &Path, arguments: &[&str], page: &Path) -> String {
    let out = folder.join("browser-output.txt");
    let errors = folder.join("browser-errors.txt");
    let mut child = Command::new(chromium())
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-first-run",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .args(arguments)
        .arg(format!("file://{}", page.display()))
        .stdin(Stdio::null())
        .stdout(File::create(&out).unwrap())
        .stderr(File::create(&errors).unwrap())
        .spawn()
        .expect("the browser starts");
    let started = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if started.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("the browser did not come to an end");
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    let said = std::fs::read_to_string(&errors).unwrap_or_default();
    assert!(status.success(), "the browser failed: {said}");
    std::fs::read_to_string(&out).unwrap_or_default()
}

/// Shows a page at a width and measures it.
///
/// # Panics
/// If there is no browser, or the page cannot be shown.
#[must_use]
pub fn measure(html: &str, width: u32) -> Measured {
    let measured = shown(html, width, LATE);
    serde_json::from_str(&measured).unwrap_or_else(|error| panic!("{error}: {measured}"))
}

/// Shows a page at a width and gives what a script says of it: the body of a function that returns a value, or a
/// promise of one.
///
/// # Panics
/// If there is no browser, the page cannot be shown, or the script fails.
#[must_use]
pub fn answer(html: &str, width: u32, script: &str) -> serde_json::Value {
    let late = format!(
        "addEventListener('load',function(){{setTimeout(function(){{\
         new Promise(function(done){{done((function(){{{script}\n}})())}})\
         .then(function(value){{return{{value:value===undefined?null:value,wrong:window.wrong}}}},\
         function(error){{return{{value:null,wrong:window.wrong.concat([String(error&&error.stack||error)])}}}})\
         .then(function(found){{parent.postMessage(JSON.stringify(found)\
         .replace(/[&<>]/g,function(c){{return'\\\\u00'+c.charCodeAt(0).toString(16)}}),'*')}})}},0)}});"
    );
    let found = shown(html, width, &late);
    let mut found: serde_json::Value =
        serde_json::from_str(&found).unwrap_or_else(|error| panic!("{error}: {found}"));
    assert_eq!(
        found["wrong"],
        serde_json::json!([]),
        "the page or the script failed"
    );
    found["value"].take()
}

/// A page with an element before anything else on it and a script at its end.
pub(crate) fn with_script(html: &str, early: &str, late: &str) -> String {
    let (head, body) = html
        .split_once("<meta charset=\"utf-8\">")
        .expect("a page in UTF-8");
    let page = format!("{head}<meta charset=\"utf-8\">{early}{body}");
    let (body, end) = page.rsplit_once("</body>").expect("a page with a body");
    format!("{body}<script>{late}</script></body>{end}")
}

/// Shows a page with a script at its end, and gives the text that the script posts to the page about it.
fn shown(html: &str, width: u32, late: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("page.html"),
        with_script(html, EARLY, late),
    )
    .unwrap();
    // A window cannot be as narrow as a telephone; a frame can.
    let frame = format!(
        "<!doctype html><meta charset=\"utf-8\"><body><script>addEventListener('message',function(e){{\
         document.body.textContent='MEA'+'SURED'+e.data+'DONE'}})</script>\
         <iframe src=\"page.html\" style=\"border:0;width:{width}px;height:900px\"></iframe>"
    );
    let path = folder.path().join("frame.html");
    std::fs::write(&path, frame).unwrap();
    let arguments = [
        "--dump-dom",
        "--virtual-time-budget=60000",
        "--window-size=1400,1000",
    ];
    let dom = browse(folder.path(), &arguments, &path);
    let measured = (dom.split_once("MEASURED"))
        .and_then(|(_, rest)| rest.split_once("DONE"))
        .unwrap_or_else(|| panic!("the page did not measure itself: {dom}"));
    // The text of an element as HTML writes it.
    measured
        .0
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

/// A page printed as PDF.
///
/// # Panics
/// As [`measure`].
#[must_use]
pub fn print(html: &str) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.html");
    std::fs::write(&path, html).unwrap();
    let pdf = folder.path().join("page.pdf");
    let to = format!("--print-to-pdf={}", pdf.display());
    browse(folder.path(), &[&to, "--no-pdf-header-footer"], &path);
    std::fs::read(&pdf).expect("the browser prints")
}
