//! The server as a process of its own, on real pipes. This test starts itself again as the server.

#![allow(clippy::expect_used)]

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, ExitCode, Stdio};

const INITIALIZE: &str =
    r#"{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}}}"#;
const SHUTDOWN: &str = r#"{"jsonrpc":"2.0","id":2,"method":"shutdown","params":null}"#;
const EXIT: &str = r#"{"jsonrpc":"2.0","method":"exit"}"#;

fn main() -> ExitCode {
    if std::env::args().any(|argument| argument == "--as-server") {
        let today = || jiff::civil::date(2026, 11, 25);
        return guywire_lsp::serve(today).map_or(ExitCode::from(2), |ended| ExitCode::from(ended.code()));
    }
    exit_ends_it_though_the_pipe_stays_open();
    exit_without_shutdown_is_code_one();
    the_end_of_the_input_ends_it();
    a_client_that_stops_reading_does_not_keep_it();
    println!("process: 4 passed");
    ExitCode::SUCCESS
}

struct Server {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

fn start() -> Server {
    let this = std::env::current_exe().expect("a path of its own");
    let mut command = Command::new(this);
    command.arg("--as-server").stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().expect("the server starts");
    let input = child.stdin.take().expect("a pipe");
    let output = BufReader::new(child.stdout.take().expect("a pipe"));
    Server { child, input, output }
}

impl Server {
    fn send(&mut self, body: &str) {
        write!(self.input, "Content-Length: {}\r\n\r\n{body}", body.len()).expect("the server reads");
    }

    fn receive(&mut self) -> String {
        let mut header = String::new();
        self.output.read_line(&mut header).expect("the server writes");
        let length = header.trim().strip_prefix("Content-Length: ").expect("a header").parse().expect("a number");
        let mut body = vec![0; 2_usize.checked_add(length).expect("a small number")];
        self.output.read_exact(&mut body).expect("a whole message");
        String::from_utf8(body.split_off(2)).expect("UTF-8")
    }

    fn code(&mut self) -> Option<i32> {
        self.child.wait().expect("the server ends").code()
    }
}

fn exit_ends_it_though_the_pipe_stays_open() {
    let mut server = start();
    server.send(INITIALIZE);
    assert!(server.receive().contains(r#""name":"guywire""#));
    server.send(SHUTDOWN);
    assert_eq!(server.receive(), r#"{"jsonrpc":"2.0","result":null,"id":2}"#);
    server.send(EXIT);
    assert_eq!(server.code(), Some(0));
    let mut rest = String::new();
    server.output.read_to_string(&mut rest).expect("a closed pipe");
    assert_eq!(rest, "");
}

fn exit_without_shutdown_is_code_one() {
    let mut server = start();
    server.send(INITIALIZE);
    server.receive();
    server.send(EXIT);
    assert_eq!(server.code(), Some(1));
}

fn the_end_of_the_input_ends_it() {
    let Server { mut child, input, .. } = start();
    drop(input);
    assert_eq!(child.wait().expect("the server ends").code(), Some(1));
}

fn a_client_that_stops_reading_does_not_keep_it() {
    let mut server = start();
    server.send(INITIALIZE);
    server.receive();
    let Server { mut child, mut input, output } = server;
    drop(output);
    // Either the first answer finds the pipe closed, or the server has gone before the request is written.
    let _ = write!(input, "Content-Length: {}\r\n\r\n{SHUTDOWN}", SHUTDOWN.len());
    let code = child.wait().expect("the server ends").code();
    assert!(matches!(code, Some(0 | 1)), "{code:?}");
}
