//! The door: hands out style and board text by name. The library itself opens no file.

/// A named input text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// What to call it in messages.
    pub name: String,
    /// The whole text.
    pub text: String,
}

/// Gives texts by name. A face (command line, studio) implements it over files; the shipped
/// implementation is [`Shipped`].
pub trait Door {
    /// The style file with this name, shipped or the user's own.
    fn style(&self, name: &str) -> Option<Text>;
    /// Every board file, shipped first; later ones override earlier boards of the same name.
    fn boards(&self) -> Vec<Text>;
    /// The names `style` answers to.
    fn style_names(&self) -> Vec<String>;
}

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../../", $name, ".kdl")))),*]
    };
}

const STYLES: &[(&str, &str)] = shipped!(
    "styles/slotted-case",
    "styles/half-slotted",
    "styles/full-overlap",
    "styles/tray-with-lid",
    "styles/tuck-end-case",
    "styles/mailer",
);
const BOARDS: &[(&str, &str)] = shipped!(
    "boards/e",
    "boards/b",
    "boards/c",
    "boards/a",
    "boards/eb",
    "boards/bc",
);

/// The files compiled into the program.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shipped;

impl Door for Shipped {
    fn style(&self, name: &str) -> Option<Text> {
        STYLES
            .iter()
            .find(|(file, _)| file.strip_prefix("styles/") == Some(name))
            .map(|(file, text)| Text {
                name: format!("{file}.kdl"),
                text: (*text).to_owned(),
            })
    }
    fn boards(&self) -> Vec<Text> {
        BOARDS
            .iter()
            .map(|(file, text)| Text {
                name: format!("{file}.kdl"),
                text: (*text).to_owned(),
            })
            .collect()
    }
    fn style_names(&self) -> Vec<String> {
        STYLES
            .iter()
            .filter_map(|(f, _)| f.strip_prefix("styles/"))
            .map(str::to_owned)
            .collect()
    }
}
