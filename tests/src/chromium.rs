//! The browser of a test binary: started when a page is first shown, spoken to by its own protocol over a pipe, and
//! gone with the process, whose end closes the pipe. Every tab has a context of its own: what one page keeps or breaks
//! no other sees.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{ChildStdin, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

use serde_json::{Value, json};

/// Names under which Chromium is found.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/// A page in a browser takes seconds; longer is a hang.
const PATIENCE: Duration = Duration::from_secs(120);

/// The third and the fourth file of the process are the pipe that it speaks through. When it ends, its folder goes; what
/// it complained of is shown if it failed.
const SHELL: &str = "trap '' INT; \"$@\" 3<&0 4>&1 0</dev/null 1>/dev/null 2>\"$0/errors\" || cat \"$0/errors\" >&2; rm -rf \"$0\"";

/// A browser without a window.
#[derive(Debug)]
pub(crate) struct Chromium {
    to: Mutex<ChildStdin>,
    said: AtomicU64,
    waiting: &'static Mutex<Waiting>,
}

/// Who waits for what the browser says.
#[derive(Debug, Default)]
struct Waiting {
    /// For the answer to a message.
    answers: BTreeMap<u64, Sender<Value>>,
    /// For what happens in a tab, by its session.
    events: BTreeMap<String, Sender<Value>>,
    /// The browser says no more.
    gone: bool,
}

/// The browser of this process.
///
/// # Panics
/// If there is none.
pub(crate) fn chromium() -> &'static Chromium {
    static BROWSER: OnceLock<Result<Chromium, String>> = OnceLock::new();
    match BROWSER.get_or_init(Chromium::start) {
        Ok(browser) => browser,
        Err(error) => panic!("{error}"),
    }
}

impl Chromium {
    fn start() -> Result<Self, String> {
        let program = find()?;
        // The shell removes it: this process is gone by then.
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let folder = folder.keep();
        let mut child = Command::new("sh")
            .args(["-c", SHELL])
            .arg(&folder)
            .arg(&program)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--no-first-run",
            ])
            // It has nothing to look for in the world, and a page that is not in front is a page all the same.
            .args([
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-extensions",
                "--disable-background-timer-throttling",
                "--disable-backgrounding-occluded-windows",
                "--disable-renderer-backgrounding",
            ])
            .arg("--remote-debugging-pipe")
            .arg(format!(
                "--user-data-dir={}",
                folder.join("profile").display()
            ))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| format!("{} does not start: {error}", program.display()))?;
        let to = child.stdin.take().expect("a pipe");
        let from = child.stdout.take().expect("a pipe");
        let waiting: &Mutex<Waiting> = Box::leak(Box::default());
        std::thread::spawn(move || listen(from, waiting));
        Ok(Self {
            to: Mutex::new(to),
            said: AtomicU64::new(0),
            waiting,
        })
    }

    /// What happens in a tab from now on.
    pub(crate) fn events(&self, session: &str) -> Receiver<Value> {
        let (send, receive) = channel();
        let mut waiting = locked(self.waiting);
        waiting.events.insert(session.to_owned(), send);
        receive
    }

    /// Hears no more of a tab.
    pub(crate) fn forget(&self, session: &str) {
        locked(self.waiting).events.remove(session);
    }

    /// Asks the browser, or a tab of it by its session.
    pub(crate) fn ask(&self, session: Option<&str>, method: &str, parameters: &Value) -> Question {
        let id = self.said.fetch_add(1, Ordering::Relaxed);
        let mut message = json!({ "id": id, "method": method, "params": parameters });
        if let Some(session) = session {
            message["sessionId"] = json!(session);
        }
        let (send, answer) = channel();
        let mut waiting = locked(self.waiting);
        if !waiting.gone {
            waiting.answers.insert(id, send);
        }
        drop(waiting);
        let mut message = message.to_string().into_bytes();
        message.push(0);
        // If it is gone, nothing comes back.
        let mut to = locked(&self.to);
        let _ = to.write_all(&message).and_then(|()| to.flush());
        Question {
            method: method.to_owned(),
            answer,
        }
    }
}

/// What was asked and is not answered yet.
pub(crate) struct Question {
    method: String,
    answer: Receiver<Value>,
}

impl Question {
    /// Waits for the answer.
    ///
    /// # Panics
    /// If the browser refuses, or does not answer.
    pub(crate) fn answer(self) -> Value {
        let mut heard = heard(&self.answer, &self.method);
        assert!(heard["error"].is_null(), "{}: {heard}", self.method);
        heard["result"].take()
    }
}

/// The next that comes.
///
/// # Panics
/// If nothing does.
pub(crate) fn heard(from: &Receiver<Value>, what: &str) -> Value {
    let heard = from.recv_timeout(PATIENCE);
    heard.unwrap_or_else(|error| panic!("the browser does not answer to {what}: {error}"))
}

/// A test that failed with it in hand leaves it whole.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Hands what the browser says to who waits for it. Messages end with a zero.
fn listen(from: ChildStdout, waiting: &Mutex<Waiting>) {
    for message in BufReader::new(from).split(0) {
        let Ok(message) = message else { break };
        let Ok(message) = serde_json::from_slice::<Value>(&message) else {
            break;
        };
        let mut waiting = locked(waiting);
        // Who does not wait any more does not mind.
        if let Some(id) = message["id"].as_u64() {
            if let Some(to) = waiting.answers.remove(&id) {
                let _ = to.send(message);
            }
        } else if let Some(session) = message["sessionId"].as_str()
            && let Some(to) = waiting.events.get(session)
        {
            let _ = to.send(message);
        }
    }
    *locked(waiting) = Waiting {
        gone: true,
        ..Waiting::default()
    };
}

fn find() -> Result<PathBuf, String> {
    if let Some(named) = std::env::var_os("HANDOVER_BROWSER") {
        return Ok(named.into());
    }
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&folders)
        .flat_map(|folder| NAMES.map(|name| folder.join(name)))
        .find(|path| path.is_file());
    found.ok_or_else(|| {
        "this test shows pages in Chromium, which is not installed: `apt-get install chromium`, or name \
         a browser of its kind in HANDOVER_BROWSER"
            .to_owned()
    })
}
