//! A client on the pipes of a server: sends, and says when what came back was there.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::Outcome;

/// A server that says nothing for so long has failed.
const PATIENCE: Duration = Duration::from_secs(120);

/// What came, and when its last byte was there.
pub struct Message {
    pub at: Instant,
    pub value: Value,
}

pub struct Client {
    child: Child,
    input: ChildStdin,
    messages: Receiver<Result<Message, String>>,
    last: i64,
}

impl Client {
    /// Starts a server; the clock of its start is that of this call.
    pub fn start(command: &[String]) -> Outcome<Client> {
        let (program, arguments) = command.split_first().ok_or("a server needs a command")?;
        let mut command = Command::new(program);
        command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().map_err(|error| format!("{program}: {error}"))?;
        let input = child.stdin.take().ok_or("no pipe to the server")?;
        let output = BufReader::new(child.stdout.take().ok_or("no pipe from the server")?);
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            let mut output = output;
            loop {
                let message = receive(&mut output);
                let ended = message.is_err();
                if sender.send(message).is_err() || ended {
                    return;
                }
            }
        });
        Ok(Client { child, input, messages, last: 0 })
    }

    pub fn send(&mut self, message: &Value) -> Outcome<()> {
        let body = message.to_string();
        let frame = format!("Content-Length: {}\r\n\r\n{body}", body.len());
        self.input.write_all(frame.as_bytes())?;
        Ok(self.input.flush()?)
    }

    pub fn notify(&mut self, method: &str, params: Value) -> Outcome<()> {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }))
    }

    /// Sends a request; yields its id.
    pub fn ask(&mut self, method: &str, params: Value) -> Outcome<i64> {
        self.last += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": self.last, "method": method, "params": params }))?;
        Ok(self.last)
    }

    /// The next message for which the question is answered with yes. Requests of the server's own are answered with
    /// null on the way.
    pub fn wait(&mut self, mut wanted: impl FnMut(&Value) -> bool) -> Outcome<Message> {
        loop {
            let message = self.messages.recv_timeout(PATIENCE).map_err(|_| "the server says nothing any more")??;
            if message.value.get("method").is_some() && message.value.get("id").is_some() {
                let result =
                    if message.value["method"] == "workspace/configuration" { json!([null]) } else { json!(null) };
                self.send(&json!({ "jsonrpc": "2.0", "id": message.value["id"], "result": result }))?;
            }
            if wanted(&message.value) {
                return Ok(message);
            }
        }
    }

    /// The answer to a request.
    pub fn answer(&mut self, id: i64) -> Outcome<Message> {
        let message = self.wait(|value| value["id"] == id && value.get("method").is_none())?;
        match message.value.get("error") {
            Some(error) => Err(format!("the server refuses: {error}").into()),
            None => Ok(message),
        }
    }

    /// Peak of the server's memory, in bytes, where the system tells.
    pub fn memory(&self) -> Option<u64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
        Some(line.trim().trim_end_matches(" kB").parse::<u64>().ok()? * 1024)
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn receive(output: &mut BufReader<ChildStdout>) -> Result<Message, String> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).map_err(|error| error.to_string())? == 0 {
            return Err("the server has ended".to_owned());
        }
        if line.trim().is_empty() {
            break;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().map_err(|_| "a length that is no number")?;
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).map_err(|error| error.to_string())?;
    let at = Instant::now();
    let value = serde_json::from_slice(&body).map_err(|error| error.to_string())?;
    Ok(Message { at, value })
}
