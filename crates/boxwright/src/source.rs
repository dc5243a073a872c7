//! The door: hands out style, board, machine and table text by name. The library itself opens no file.

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
    /// The kit file with this name: what several styles share. `from` is the name of the style's
    /// own text.
    fn kit(&self, name: &str, from: &str) -> Option<Text> {
        Shipped.kit(name, from)
    }
    /// The names `kit` answers to.
    fn kit_names(&self) -> Vec<String> {
        Shipped.kit_names()
    }
    /// The machine file with this name, shipped or the user's own.
    fn machine(&self, name: &str) -> Option<Text> {
        Shipped.machine(name)
    }
    /// The names `machine` answers to.
    fn machine_names(&self) -> Vec<String> {
        Shipped.machine_names()
    }
    /// The table file with this name: `losses`, `grades`, `parcels`, `loads`, `drops`; shipped or the user's
    /// own.
    fn table(&self, name: &str) -> Option<Text> {
        Shipped.table(name)
    }
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
    "styles/all-flaps-meet",
    "styles/bliss",
    "styles/buffer-wrap",
    "styles/capped-tube",
    "styles/cell-divider",
    "styles/centre-seam-folder",
    "styles/channel-tray",
    "styles/clear-corners",
    "styles/corner-posts",
    "styles/covered-half-slotted",
    "styles/crash-lock",
    "styles/cross-wrap",
    "styles/crossed-sleeves",
    "styles/cylinder-inset",
    "styles/dust-flap-folder",
    "styles/equal-flaps-overlap",
    "styles/five-panel-folder",
    "styles/flat-pad",
    "styles/four-panel-liner",
    "styles/full-telescope",
    "styles/glued-tray",
    "styles/high-back-tray",
    "styles/hinged-tray",
    "styles/inner-meet-full-overlap",
    "styles/one-piece-folder",
    "styles/overlapped-tube",
    "styles/part-overlap",
    "styles/reverse-tuck",
    "styles/roll-all-tray",
    "styles/roll-end-chest",
    "styles/roll-end-tray",
    "styles/roll-side-tray",
    "styles/short-flaps",
    "styles/sleeve",
    "styles/snap-lock-slotted",
    "styles/snap-lock-tuck",
    "styles/telescoped-half-slotted",
    "styles/tray-in-sleeve",
    "styles/tray-with-cover",
    "styles/u-liner",
    "styles/wrap-around",
);
const KITS: &[(&str, &str)] = shipped!(
    "styles/kits/caps",
    "styles/kits/corner-tabs",
    "styles/kits/covers",
    "styles/kits/crash-lock",
    "styles/kits/end-flaps",
    "styles/kits/flaps",
    "styles/kits/folder",
    "styles/kits/halves",
    "styles/kits/lapped",
    "styles/kits/lid-ears",
    "styles/kits/rolled-ends",
    "styles/kits/slotted",
    "styles/kits/snap-lock",
    "styles/kits/top-wrap",
    "styles/kits/tray",
    "styles/kits/trays",
    "styles/kits/tube",
    "styles/kits/tuck",
    "styles/kits/tuck-lid",
    "styles/kits/wrap",
);
const BOARDS: &[(&str, &str)] = shipped!(
    "boards/e",
    "boards/b",
    "boards/c",
    "boards/a",
    "boards/eb",
    "boards/bc",
);
const MACHINES: &[(&str, &str)] = shipped!("machines/bench-laser", "machines/knife-table");
const TABLES: &[(&str, &str)] = shipped!(
    "tables/losses",
    "tables/grades",
    "tables/parcels",
    "tables/loads",
    "tables/drops",
);

/// The files compiled into the program.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shipped;

fn shipped(list: &[(&str, &str)], folder: &str, name: &str) -> Option<Text> {
    list.iter()
        .find(|(file, _)| file.strip_prefix(folder) == Some(name))
        .map(text)
}

fn text((file, text): &(&str, &str)) -> Text {
    Text {
        name: format!("{file}.kdl"),
        text: (*text).to_owned(),
    }
}

fn names(list: &[(&str, &str)], folder: &str) -> Vec<String> {
    let files = list.iter().filter_map(|(f, _)| f.strip_prefix(folder));
    files.map(str::to_owned).collect()
}

impl Door for Shipped {
    fn style(&self, name: &str) -> Option<Text> {
        shipped(STYLES, "styles/", name)
    }
    fn boards(&self) -> Vec<Text> {
        BOARDS.iter().map(text).collect()
    }
    fn style_names(&self) -> Vec<String> {
        names(STYLES, "styles/")
    }
    fn kit(&self, name: &str, _: &str) -> Option<Text> {
        shipped(KITS, "styles/kits/", name)
    }
    fn kit_names(&self) -> Vec<String> {
        names(KITS, "styles/kits/")
    }
    fn machine(&self, name: &str) -> Option<Text> {
        shipped(MACHINES, "machines/", name)
    }
    fn machine_names(&self) -> Vec<String> {
        names(MACHINES, "machines/")
    }
    fn table(&self, name: &str) -> Option<Text> {
        shipped(TABLES, "tables/", name)
    }
}
