//! A page in Chromium that is used as a person uses it: touched, typed on, in other colours and on a slower processor,
//! through the browser's own protocol.

use std::sync::mpsc::Receiver;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::chromium::{Chromium, chromium, heard};

/// Runs before anything on the page: keeps what goes wrong.
const EARLY: &str = "<script>window.wrong=[];\
addEventListener('error',function(e){wrong.push('error: '+e.message)});\
addEventListener('securitypolicyviolation',function(e){wrong.push('fetched: '+e.blockedURI)});\
console.error=console.warn=function(m){wrong.push('console: '+m)};</script>";

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

/// A page in a tab of the test binary's browser, with storage and a process of its own.
#[derive(Debug)]
pub struct Tab {
    browser: &'static Chromium,
    context: String,
    session: String,
    events: Receiver<Value>,
    folder: TempDir,
}

impl Tab {
    /// Shows a page.
    ///
    /// # Panics
    /// If there is no browser, or it does not answer.
    #[must_use]
    pub fn open(html: &str, look: Look) -> Self {
        let browser = chromium();
        let ask = |method: &str, parameters: Value, name: &str| {
            let found = browser.ask(None, method, &parameters).answer();
            found[name].as_str().expect(name).to_owned()
        };
        let context = ask(
            "Target.createBrowserContext",
            json!({ "disposeOnDetach": true }),
            "browserContextId",
        );
        let place = json!({ "url": "about:blank", "browserContextId": context });
        let target = ask("Target.createTarget", place, "targetId");
        let target = json!({ "targetId": target, "flatten": true });
        let session = ask("Target.attachToTarget", target, "sessionId");
        let tab = Self {
            browser,
            context,
            events: browser.events(&session),
            session,
            folder: tempfile::tempdir().unwrap(),
        };
        tab.call("Page.enable", json!({}));
        let on = json!({ "enabled": true });
        tab.call("Page.setLifecycleEventsEnabled", on.clone());
        // As if it were the only one.
        tab.call("Emulation.setFocusEmulationEnabled", on);
        tab.look(look);
        tab.load(html);
        tab
    }

    /// Looks at it in another way.
    pub fn look(&self, look: Look) {
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
    ///
    /// # Panics
    /// If it cannot be shown.
    pub fn load(&self, html: &str) {
        let path = self.folder.path().join("page.html");
        std::fs::write(&path, with_early(html)).unwrap();
        let url = format!("file://{}", path.display());
        let loader = self.call("Page.navigate", json!({ "url": url }));
        assert!(loader["errorText"].is_null(), "{loader}");
        loop {
            let event = heard(&self.events, "the load of a page");
            let what = &event["params"];
            if event["method"] == "Page.lifecycleEvent"
                && what["name"] == "load"
                && what["loaderId"] == loader["loaderId"]
            {
                break;
            }
        }
        // After what the page itself does when it is there.
        self.value("await new Promise(function (done) { setTimeout(done, 0); });");
    }

    /// A processor so many times slower.
    pub fn slow_down(&self, times: u32) {
        self.call("Emulation.setCPUThrottlingRate", json!({ "rate": times }));
    }

    /// What the body of an asynchronous function returns on the page.
    ///
    /// # Panics
    /// If it fails, or something was wrong on the page before.
    pub fn answer(&self, script: &str) -> Value {
        let script = format!(
            "var value = await (async function () {{ {script}\n }})();\
             return {{ value: value === undefined ? null : value, wrong: window.wrong }};"
        );
        let mut found = self.value(&script);
        assert_eq!(found["wrong"], json!([]), "something is wrong on the page");
        found["value"].take()
    }

    /// The same, whatever is wrong on the page.
    pub(crate) fn value(&self, script: &str) -> Value {
        let expression = format!("(async function () {{ {script}\n }})()");
        let parameters =
            json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let mut found = self.call("Runtime.evaluate", parameters);
        assert!(found["exceptionDetails"].is_null(), "{found}");
        found["result"]["value"].take()
    }

    /// Runs a script that is no function's body, such as a library.
    ///
    /// # Panics
    /// If it fails.
    pub fn run(&self, script: &str) {
        let found = self.call("Runtime.evaluate", json!({ "expression": script }));
        assert!(found["exceptionDetails"].is_null(), "{found}");
    }

    /// Presses a key: its name, and a letter that it types. `with` Control held.
    pub fn key(&self, name: &str, with_control: bool) {
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
    pub fn write(&self, text: &str) {
        self.call("Input.insertText", json!({ "text": text }));
    }

    /// Touches the middle of what a selector finds, wherever it is on the screen.
    ///
    /// # Panics
    /// If it is not there, or something lies over it.
    pub fn touch(&self, selector: &str) {
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

    fn middle(&self, selector: &str) -> [f64; 2] {
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

    /// The page on paper, as PDF.
    ///
    /// # Panics
    /// If the browser does not print.
    #[must_use]
    pub fn print(&self) -> Vec<u8> {
        let paper = json!({ "printBackground": true, "preferCSSPageSize": true });
        let printed = self.call("Page.printToPDF", paper);
        from_base64(printed["data"].as_str().expect("a document"))
    }

    /// Asks the tab and waits for its answer.
    fn call(&self, method: &str, parameters: Value) -> Value {
        let question = self.browser.ask(Some(&self.session), method, &parameters);
        question.answer()
    }
}

impl Drop for Tab {
    fn drop(&mut self) {
        self.browser.forget(&self.session);
        let context = json!({ "browserContextId": self.context });
        // Nobody waits for its end.
        drop(
            self.browser
                .ask(None, "Target.disposeBrowserContext", &context),
        );
    }
}

/// A page with [`EARLY`] before anything else on it.
fn with_early(html: &str) -> String {
    let head = "<meta charset=\"utf-8\">";
    assert!(html.contains(head), "a page in UTF-8");
    html.replacen(head, &format!("{head}{EARLY}"), 1)
}

/// Bytes from their text (RFC 4648, section 4).
///
/// # Panics
/// If there is another sign in it.
fn from_base64(text: &str) -> Vec<u8> {
    let digit = |sign: u8| match sign {
        b'A'..=b'Z' => sign - b'A',
        b'a'..=b'z' => sign - b'a' + 26,
        b'0'..=b'9' => sign - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        _ => panic!("{} is no sign of base64", sign.escape_ascii()),
    };
    let signs = text.trim_end_matches('=').as_bytes();
    let mut bytes = Vec::with_capacity(signs.len());
    for group in signs.chunks(4) {
        let bits = group
            .iter()
            .fold(0u32, |bits, &sign| bits << 6 | u32::from(digit(sign)));
        let bits = bits << (6 * (4 - group.len()));
        bytes.extend(&bits.to_be_bytes()[1..group.len()]);
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::from_base64;

    /// The vectors of RFC 4648, section 10.
    #[test]
    fn the_vectors_of_the_standard() {
        let texts = [
            "", "Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy",
        ];
        for (length, text) in texts.into_iter().enumerate() {
            assert_eq!(from_base64(text), b"foobar"[..length], "{text}");
        }
    }
}
