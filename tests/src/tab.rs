//! A page in Chromium that is used as a person uses it: touched, typed on, in other colours and on a slower processor,
//! through the browser's own protocol over a pipe.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::browser::{EARLY, PATIENCE, chromium, with_script};

/// How a page is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Size of the window.
    pub size: [u32; 2],
    /// A telephone: touched, with its own idea of a window.
    pub telephone: bool,
    /// Dark colours are asked for.
    pub dark: bool,
    /// The system's colours replace those of the page.
    pub forced: bool,
}

impl Look {
    /// A light desk screen of a width.
    #[must_use]
    pub fn desk(width: u32) -> Self {
        Self {
            size: [width, 900],
            telephone: false,
            dark: false,
            forced: false,
        }
    }

    /// A telephone, 390 wide.
    #[must_use]
    pub fn telephone() -> Self {
        Self {
            size: [390, 844],
            telephone: true,
            ..Self::desk(390)
        }
    }
}

/// A page in a browser of its own.
#[derive(Debug)]
pub struct Tab {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    session: Option<String>,
    said: u64,
    folder: TempDir,
}

impl Tab {
    /// Shows a page.
    ///
    /// # Panics
    /// If there is no browser, or it does not answer.
    #[must_use]
    pub fn open(html: &str, look: Look) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut child = start(folder.path());
        let to = child.stdin.take().unwrap();
        let (send, from) = channel();
        let out = child.stdout.take().unwrap();
        std::thread::spawn(move || {
            // Messages end with a zero.
            for message in BufReader::new(out).split(0) {
                let read = message
                    .ok()
                    .and_then(|text| serde_json::from_slice(&text).ok());
                let Some(message) = read else { return };
                if send.send(message).is_err() {
                    return;
                }
            }
        });
        let mut tab = Self {
            child,
            to,
            from,
            session: None,
            said: 0,
            folder,
        };
        let target = tab.call("Target.createTarget", json!({ "url": "about:blank" }));
        let target = json!({ "targetId": target["targetId"], "flatten": true });
        let session = tab.call("Target.attachToTarget", target);
        tab.session = session["sessionId"].as_str().map(str::to_owned);
        tab.call("Page.enable", json!({}));
        tab.look(look);
        tab.load(html);
        tab
    }

    /// Looks at it in another way.
    pub fn look(&mut self, look: Look) {
        let [width, height] = look.size;
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": look.telephone }),
        );
        self.call(
            "Emulation.setTouchEmulationEnabled",
            json!({ "enabled": look.telephone }),
        );
        let scheme = if look.dark { "dark" } else { "light" };
        let forced = if look.forced { "active" } else { "none" };
        let features = json!([
            { "name": "prefers-color-scheme", "value": scheme },
            { "name": "forced-colors", "value": forced },
        ]);
        self.call(
            "Emulation.setEmulatedMedia",
            json!({ "features": features }),
        );
    }

    /// Shows another page, or the same anew; what is kept by the browser stays.
    pub fn load(&mut self, html: &str) {
        let path = self.folder.path().join("page.html");
        std::fs::write(&path, with_script(html, EARLY, "")).unwrap();
        let url = format!("file://{}", path.display());
        self.call("Page.navigate", json!({ "url": url }));
        loop {
            let message = self.hear();
            if message["method"] == "Page.loadEventFired" {
                break;
            }
        }
    }

    /// A processor so many times slower.
    pub fn slow_down(&mut self, times: u32) {
        self.call("Emulation.setCPUThrottlingRate", json!({ "rate": times }));
    }

    /// What the body of an asynchronous function returns on the page.
    ///
    /// # Panics
    /// If it fails, or something was wrong on the page before.
    pub fn answer(&mut self, script: &str) -> Value {
        let expression = format!(
            "(async function () {{ {script}\n }})().then(function (value) {{ return {{ value: value === undefined ? null : value, wrong: window.wrong }}; }})"
        );
        let parameters =
            json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let mut found = self.call("Runtime.evaluate", parameters);
        assert!(found["exceptionDetails"].is_null(), "{found}");
        let mut found = found["result"]["value"].take();
        assert_eq!(found["wrong"], json!([]), "something is wrong on the page");
        found["value"].take()
    }

    /// Runs a script that is no function's body, such as a library.
    ///
    /// # Panics
    /// If it fails.
    pub fn run(&mut self, script: &str) {
        let found = self.call("Runtime.evaluate", json!({ "expression": script }));
        assert!(found["exceptionDetails"].is_null(), "{found}");
    }

    /// Presses a key: its name, and a letter that it types. `with` Control held.
    pub fn key(&mut self, name: &str, with_control: bool) {
        let code: u32 = match name {
            "ArrowUp" => 38,
            "ArrowDown" => 40,
            "ArrowRight" => 39,
            "Tab" => 9,
            "Enter" => 13,
            "Escape" => 27,
            letter => letter.to_uppercase().bytes().next().map_or(0, u32::from),
        };
        let modifiers = if with_control { 2 } else { 0 };
        for kind in ["rawKeyDown", "keyUp"] {
            self.call(
                "Input.dispatchKeyEvent",
                json!({ "type": kind, "key": name, "windowsVirtualKeyCode": code, "modifiers": modifiers }),
            );
        }
    }

    /// Types a text where the keys go.
    pub fn write(&mut self, text: &str) {
        self.call("Input.insertText", json!({ "text": text }));
    }

    /// Touches the middle of what a selector finds, wherever it is on the screen.
    ///
    /// # Panics
    /// If it is not there, or something lies over it.
    pub fn touch(&mut self, selector: &str) {
        let [x, y] = self.middle(selector);
        let at = json!([{ "x": x, "y": y }]);
        self.call(
            "Input.dispatchTouchEvent",
            json!({ "type": "touchStart", "touchPoints": at }),
        );
        self.call(
            "Input.dispatchTouchEvent",
            json!({ "type": "touchEnd", "touchPoints": [] }),
        );
    }

    fn middle(&mut self, selector: &str) -> [f64; 2] {
        let selector = json!(selector);
        let found = self.answer(&format!(
            "var all = [].filter.call(document.querySelectorAll({selector}), function (n) {{ return n.getBoundingClientRect().width > 0; }}), it = all[0];\
             if (!it) {{ return null; }} var b = it.getBoundingClientRect();\
             if (b.top < 0 || b.bottom > innerHeight) {{ it.scrollIntoView({{ block: 'center' }}); b = it.getBoundingClientRect(); }}\
             var x = b.left + b.width / 2, y = b.top + b.height / 2, over = document.elementFromPoint(x, y);\
             return it.contains(over) || over && over.contains(it) ? [x, y] : null;"
        ));
        let place = |i: usize| {
            found[i]
                .as_f64()
                .unwrap_or_else(|| panic!("{selector} cannot be touched"))
        };
        [place(0), place(1)]
    }

    /// Asks the browser and waits for its answer.
    fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.said += 1;
        let id = self.said;
        let mut message = json!({ "id": id, "method": method, "params": parameters });
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        self.to.write_all(message.to_string().as_bytes()).unwrap();
        self.to.write_all(&[0]).unwrap();
        self.to.flush().unwrap();
        loop {
            let mut heard = self.hear();
            if heard["id"] == id {
                assert!(heard["error"].is_null(), "{method}: {heard}");
                return heard["result"].take();
            }
        }
    }

    fn hear(&self) -> Value {
        let heard = self.from.recv_timeout(PATIENCE);
        heard.expect("the browser answers")
    }
}

impl Drop for Tab {
    fn drop(&mut self) {
        // It may have gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
        // Its processes write for a moment more.
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// The browser with the third and the fourth file of the process as the pipe that it speaks through.
fn start(folder: &Path) -> Child {
    Command::new("sh")
        .args([
            "-c",
            "exec \"$@\" 3<&0 4>&1 0</dev/null 1>/dev/null 2>&1",
            "sh",
        ])
        .arg(chromium())
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-first-run",
        ])
        .args(["--hide-scrollbars", "--remote-debugging-pipe"])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .arg("about:blank")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the browser starts")
}
