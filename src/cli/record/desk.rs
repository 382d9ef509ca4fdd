//! Questions and answers, line by line: at a terminal, or through a pipe.

use std::io::{BufRead, Write};

use crate::cli::failure::Failure;

/// Where answers come from, and questions go to.
pub struct Desk<R, W> {
    answers: R,
    questions: W,
}

impl<R: BufRead, W: Write> Desk<R, W> {
    /// Questions go to `questions`, which is not where the command's answer goes.
    pub fn new(answers: R, questions: W) -> Self {
        Self { answers, questions }
    }

    /// Says a line.
    pub fn say(&mut self, line: &str) -> Result<(), Failure> {
        writeln!(self.questions, "{line}").map_err(cannot_ask)
    }

    /// Asks, and waits for a line; `None` when no more will come.
    pub fn ask(&mut self, question: &str) -> Result<Option<String>, Failure> {
        write!(self.questions, "{question}: ").and_then(|()| self.questions.flush()).map_err(cannot_ask)?;
        let mut line = Vec::new();
        let read = self.answers.read_until(b'\n', &mut line);
        match read.map_err(|e| Failure::Work(format!("the answer cannot be read: {e}")))? {
            0 => {
                self.say("")?;
                Ok(None)
            }
            _ => Ok(Some(String::from_utf8_lossy(&line).trim().to_string())),
        }
    }
}

fn cannot_ask(error: std::io::Error) -> Failure {
    Failure::Work(format!("the question cannot be written: {error}"))
}
