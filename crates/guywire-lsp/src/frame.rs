//! The base protocol: a header block, then as many bytes of JSON as it says.
//!
//! A message that cannot be read costs that message only: an editor that sends half a surrogate pair once must not
//! lose its server.

use tokio::io::{AsyncBufRead, AsyncBufReadExt, AsyncReadExt, AsyncWrite, AsyncWriteExt};

/// Largest body that is read, in bytes: a plan of the largest size with every character escaped fits.
const LARGEST_BODY: usize = 512 * 1024 * 1024;
/// Longest header line that is read, in bytes.
const LONGEST_HEADER: u64 = 4096;

/// Why a message could not be read.
#[derive(Debug, thiserror::Error)]
pub(crate) enum FrameError {
    /// The input failed; nothing more can be read.
    #[error("the input cannot be read: {0}")]
    Input(#[from] std::io::Error),
    /// The body is too long to hold; what follows cannot be told from it.
    #[error("a message of {0} bytes is longer than the {LARGEST_BODY} bytes that are read")]
    TooLong(usize),
}

/// What came in.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Frame {
    /// The body of a message.
    Body(Vec<u8>),
    /// Bytes that are no header; reading goes on behind them.
    Garbage,
}

/// Reads the next frame; none at the end of the input.
pub(crate) async fn read(input: &mut (impl AsyncBufRead + Unpin)) -> Result<Option<Frame>, FrameError> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        if (&mut *input).take(LONGEST_HEADER).read_until(b'\n', &mut line).await? == 0 {
            return Ok(None);
        }
        let line = line.trim_ascii();
        if line.is_empty() {
            let Some(length) = length else { continue };
            return body(input, length).await;
        }
        match header(line) {
            Header::Length(bytes) => length = Some(bytes),
            Header::Other => {}
            Header::None => return Ok(Some(Frame::Garbage)),
        }
    }
}

enum Header {
    Length(usize),
    Other,
    None,
}

fn header(line: &[u8]) -> Header {
    let Some((name, value)) = std::str::from_utf8(line).ok().and_then(|line| line.split_once(':')) else {
        return Header::None;
    };
    if !name.eq_ignore_ascii_case("content-length") {
        return if name.eq_ignore_ascii_case("content-type") { Header::Other } else { Header::None };
    }
    value.trim().parse().map_or(Header::None, Header::Length)
}

async fn body(input: &mut (impl AsyncBufRead + Unpin), length: usize) -> Result<Option<Frame>, FrameError> {
    if length > LARGEST_BODY {
        return Err(FrameError::TooLong(length));
    }
    let mut bytes = vec![0; length];
    match input.read_exact(&mut bytes).await {
        Ok(_) => Ok(Some(Frame::Body(bytes))),
        Err(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Writes one message.
pub(crate) async fn write(output: &mut (impl AsyncWrite + Unpin), body: &[u8]) -> std::io::Result<()> {
    let mut frame = format!("Content-Length: {}\r\n\r\n", body.len()).into_bytes();
    frame.extend_from_slice(body);
    output.write_all(&frame).await?;
    output.flush().await
}

#[cfg(test)]
mod tests {
    use super::*;

    async fn frames(mut input: &[u8]) -> Vec<Frame> {
        let mut found = Vec::new();
        while let Some(frame) = read(&mut input).await.expect("memory does not fail") {
            found.push(frame);
        }
        found
    }

    fn body(text: &str) -> Frame {
        Frame::Body(text.as_bytes().to_vec())
    }

    #[tokio::test]
    async fn reads_what_it_writes() {
        let mut pipe = Vec::new();
        for message in ["{}", "", "{\"a\":\"\u{1f4fb}\"}"] {
            write(&mut pipe, message.as_bytes()).await.expect("memory does not fail");
        }
        assert_eq!(frames(&pipe).await, [body("{}"), body(""), body("{\"a\":\"\u{1f4fb}\"}")]);
    }

    #[tokio::test]
    async fn header_names_come_in_any_case_and_order() {
        let input = b"content-type: application/vscode-jsonrpc; charset=utf-8\r\nCONTENT-LENGTH:2\r\n\r\n{}";
        assert_eq!(frames(input).await, [body("{}")]);
    }

    #[tokio::test]
    async fn goes_on_behind_garbage() {
        let input = b"hello\r\nContent-Length: x\r\n\r\nContent-Length: 2\r\n\r\n{}";
        assert_eq!(frames(input).await, [Frame::Garbage, Frame::Garbage, body("{}")]);
    }

    #[tokio::test]
    async fn a_cut_message_is_the_end() {
        assert_eq!(frames(b"Content-Length: 20\r\n\r\n{}").await, []);
        assert_eq!(frames(b"Content-Le").await, [Frame::Garbage]);
    }

    #[tokio::test]
    async fn a_length_beyond_all_bounds_is_an_error() {
        let mut input: &[u8] = b"Content-Length: 99999999999\r\n\r\n";
        assert!(matches!(read(&mut input).await, Err(FrameError::TooLong(99_999_999_999))));
    }
}
