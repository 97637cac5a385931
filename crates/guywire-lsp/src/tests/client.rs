//! A client for tests. Dropped, it asserts that the server ends cleanly and that every message was read.

use std::collections::{BTreeMap, VecDeque};
use std::future::Future;
use std::thread::JoinHandle;
use std::time::Duration;

use serde_json::{Value, json};
use tokio::io::{BufReader, DuplexStream, ReadHalf, WriteHalf, duplex, split};
use tokio::runtime::Runtime;

use super::fake::World;
use crate::engine::Engine;
use crate::frame::{self, Frame};
use crate::worker::Source;
use crate::{Ended, run};

/// A hang fails the test instead of stopping it; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(60);

pub(crate) struct Client {
    runtime: Runtime,
    input: Option<WriteHalf<DuplexStream>>,
    output: BufReader<ReadHalf<DuplexStream>>,
    server: Option<JoinHandle<Ended>>,
    next_id: i64,
    /// Messages that were received while another was waited for.
    unread: VecDeque<Value>,
    /// The result of `initialize`.
    pub server_info: Value,
}

impl Client {
    /// A client that has introduced itself as well as can be, with a root.
    pub(crate) fn new(world: &World) -> Self {
        Self::with(world, capabilities(&["utf-16"]))
    }

    pub(crate) fn with(world: &World, capabilities: Value) -> Self {
        Self::introduced(world, json!({ "processId": null, "rootUri": "file:///w", "capabilities": capabilities }))
    }

    /// A client with an `initialize` body of its own.
    pub(crate) fn introduced(world: &World, body: Value) -> Self {
        Self::of(world.source(), body)
    }

    /// A client of any engine.
    pub(crate) fn of<E: Engine + 'static>(source: Source<E>, body: Value) -> Self {
        let mut client = Self::before(source);
        client.server_info = client.request("initialize", body);
        client.notify("initialized", json!({}));
        client
    }

    /// A client that has said nothing yet.
    pub(crate) fn silent(world: &World) -> Self {
        Self::before(world.source())
    }

    fn before<E: Engine + 'static>(source: Source<E>) -> Self {
        let (ours, theirs) = duplex(1 << 16);
        let server = std::thread::spawn(move || {
            let (input, output) = split(theirs);
            runtime().block_on(run(input, output, source)).expect("the server can start")
        });
        let (output, input) = split(ours);
        Self {
            runtime: runtime(),
            input: Some(input),
            output: BufReader::new(output),
            server: Some(server),
            next_id: 0,
            unread: VecDeque::new(),
            server_info: Value::Null,
        }
    }

    /// Sends bytes as they are.
    pub(crate) fn send_raw(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("the pipe is open");
        let writing = tokio::io::AsyncWriteExt::write_all(input, bytes);
        self.runtime.block_on(writing).expect("the server reads");
    }

    pub(crate) fn send(&mut self, message: &Value) {
        let input = self.input.as_mut().expect("the pipe is open");
        let body = message.to_string();
        let writing = frame::write(input, body.as_bytes());
        self.runtime.block_on(patient(writing)).expect("the server reads");
    }

    pub(crate) fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request and yields its id.
    pub(crate) fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.next_id += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": self.next_id, "method": method, "params": params }));
        self.next_id
    }

    /// Sends a request and waits for its result.
    pub(crate) fn request(&mut self, method: &str, params: Value) -> Value {
        let id = self.ask(method, params);
        let response = self.response(id);
        assert!(response.get("error").is_none(), "{method}: {response}");
        response["result"].clone()
    }

    /// Waits for a request of the server's own and answers it; yields its parameters.
    pub(crate) fn answer(&mut self, method: &str, result: Value) -> Value {
        let asked = self.told(method);
        self.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "result": result }));
        asked["params"].clone()
    }

    /// The response to a request.
    pub(crate) fn response(&mut self, id: i64) -> Value {
        self.wait(|message| message["id"] == id && message.get("method").is_none())
    }

    /// The response to a message that has no id.
    pub(crate) fn response_to_nothing(&mut self) -> Value {
        self.wait(|message| message["id"].is_null() && message.get("error").is_some())
    }

    /// The error code that answers a request.
    pub(crate) fn error(&mut self, id: i64) -> i64 {
        let response = self.response(id);
        response["error"]["code"].as_i64().unwrap_or_else(|| panic!("no error: {response}"))
    }

    /// The next notification or request of the server's by its method.
    pub(crate) fn told(&mut self, method: &str) -> Value {
        self.wait(|message| message["method"] == method)
    }

    /// The next list of diagnostics for an address.
    pub(crate) fn diagnostics(&mut self, uri: &str) -> Value {
        let list =
            |message: &Value| message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == uri;
        self.wait(list)["params"].clone()
    }

    /// Takes lists of diagnostics as they come, the last of each address, until that is what is wanted.
    pub(crate) fn until(
        &mut self,
        lists: &mut BTreeMap<String, Value>,
        wanted: impl Fn(&BTreeMap<String, Value>) -> bool,
    ) {
        while !wanted(lists) {
            let told = self.told("textDocument/publishDiagnostics")["params"].clone();
            lists.insert(told["uri"].as_str().expect("an address").to_owned(), told);
        }
    }

    /// Takes all messages that have come and asserts that there are no others before the answer to this request.
    pub(crate) fn nothing_new(&mut self, uri: &str) {
        let id = self.ask("textDocument/hover", json!({ "textDocument": { "uri": uri }, "position": at(0, 0) }));
        self.response(id);
        assert_eq!(self.unread, [] as [Value; 0]);
    }

    /// Asserts that requests about a file are answered with `ContentModified`: the server does not know its text.
    pub(crate) fn nothing_known(&mut self, uri: &str) {
        let document = json!({ "uri": uri });
        let hover = json!({ "textDocument": document, "position": at(0, 0) });
        let actions = json!({ "textDocument": document, "range": span(0, 0, 3), "context": { "diagnostics": [] } });
        for (method, params) in [("textDocument/hover", hover), ("textDocument/codeAction", actions)] {
            let id = self.ask(method, params);
            assert_eq!(self.error(id), -32801, "{method}");
        }
    }

    pub(crate) fn open(&mut self, uri: &str, version: i32, text: &str) {
        self.open_as(uri, "toml", version, text);
    }

    pub(crate) fn open_as(&mut self, uri: &str, language: &str, version: i32, text: &str) {
        let document = json!({ "uri": uri, "languageId": language, "version": version, "text": text });
        self.notify("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub(crate) fn change(&mut self, uri: &str, version: i32, changes: Value) {
        let document = json!({ "uri": uri, "version": version });
        self.notify("textDocument/didChange", json!({ "textDocument": document, "contentChanges": changes }));
    }

    pub(crate) fn close(&mut self, uri: &str) {
        self.notify("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    }

    pub(crate) fn hover(&mut self, uri: &str, line: u32, character: u32) -> Value {
        self.request("textDocument/hover", json!({ "textDocument": { "uri": uri }, "position": at(line, character) }))
    }

    /// The text of a file as the server has it.
    pub(crate) fn text(&mut self, uri: &str) -> String {
        let said = self.hover(uri, 0, 0)["contents"]["value"].as_str().expect("a text").to_owned();
        said.split_once(" of ").expect("the engine's hovers").1.to_owned()
    }

    pub(crate) fn actions(&mut self, uri: &str, range: Value) -> Value {
        self.actions_of(uri, range, json!({ "diagnostics": [] }))
    }

    /// The actions of some kinds.
    pub(crate) fn actions_only(&mut self, uri: &str, range: Value, only: Value) -> Value {
        self.actions_of(uri, range, json!({ "diagnostics": [], "only": only }))
    }

    pub(crate) fn actions_of(&mut self, uri: &str, range: Value, context: Value) -> Value {
        let params = json!({ "textDocument": { "uri": uri }, "range": range, "context": context });
        self.request("textDocument/codeAction", params)
    }

    /// The next message for which a question is answered with yes; others wait.
    fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.unread.iter().position(&wanted) {
            return self.unread.remove(at).expect("a place that was just found");
        }
        loop {
            let message = self.receive().expect("the server goes on");
            if wanted(&message) {
                return message;
            }
            self.unread.push_back(message);
        }
    }

    fn receive(&mut self) -> Option<Value> {
        let frame = self.runtime.block_on(patient(frame::read(&mut self.output))).expect("the pipe holds")?;
        let Frame::Body(body) = frame else { panic!("the server writes what is no message") };
        Some(serde_json::from_slice(&body).expect("the server writes JSON"))
    }

    /// Asks for the end, the way the protocol has it, and keeps the pipe open.
    fn farewell(&mut self) {
        self.request("shutdown", Value::Null);
        self.notify("exit", Value::Null);
    }

    /// Closes the client's end of the pipe.
    pub(crate) fn hang_up(&mut self) {
        let mut input = self.input.take().expect("the pipe is open");
        self.runtime.block_on(tokio::io::AsyncWriteExt::shutdown(&mut input)).expect("the pipe holds");
    }

    /// How the server ended, after all that it wrote was read.
    pub(crate) fn ended(&mut self) -> Ended {
        while let Some(message) = self.receive() {
            self.unread.push_back(message);
        }
        assert_eq!(self.unread, [] as [Value; 0], "messages that nobody has read");
        self.server.take().expect("the server has not ended before").join().expect("the server does not panic")
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        if std::thread::panicking() || self.server.is_none() {
            return;
        }
        self.farewell();
        assert_eq!(self.ended(), Ended::AfterShutdown);
    }
}

fn runtime() -> Runtime {
    tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime")
}

async fn patient<T>(work: impl Future<Output = T>) -> T {
    tokio::time::timeout(PATIENCE, work).await.expect("the server answers")
}

/// A position.
pub(crate) fn at(line: u32, character: u32) -> Value {
    json!({ "line": line, "character": character })
}

/// A range on one line.
pub(crate) fn span(line: u32, from: u32, to: u32) -> Value {
    json!({ "start": at(line, from), "end": at(line, to) })
}

/// All that a client can declare, and these encodings.
pub(crate) fn capabilities(encodings: &[&str]) -> Value {
    json!({
        "general": { "positionEncodings": encodings },
        "textDocument": {
            "publishDiagnostics": { "relatedInformation": true, "dataSupport": true, "tagSupport": { "valueSet": [1, 2] } },
            "hover": { "contentFormat": ["plaintext"] },
            "codeAction": {
                "isPreferredSupport": true,
                "codeActionLiteralSupport": { "codeActionKind": { "valueSet": ["quickfix"] } },
            },
        },
        "workspace": { "workspaceEdit": { "documentChanges": true } },
    })
}
