//! The window: a drawing of the place, a strip chart, hands, and paper for thinking.
//!
//! Four kinds of thing, kept apart:
//!
//! - the *session* ([`session::Session`]): the sitting, which knows nothing of a screen;
//! - *panel state* ([`state::PanelState`]): what is open, picked, half-typed; plain data;
//! - *view models*, pure functions from what can be perceived to what is shown;
//! - *views*, functions named `…_ui`, which draw and push [`bridge::Intent`]s.
//!
//! Views never call the session: [`bridge`] is the one place where an intent becomes an action. All
//! of it runs without a window inside [`desk::Desk`], which tests drive by clicks and keys; [`shell`]
//! is the thin rest that knows bevy.
//!
//! | file | what it draws or does |
//! |---|---|
//! | `class` | what an instructor does in practice: stop time, put a fault in, show what is wrong |
//! | `desk`, `plan` | the whole window: what stands where, time that passes; the editor on it, the projector view |
//! | `scene`, `scene_layout`, `outlines`, `symbols` | the supply along the vehicle |
//! | `captions`, `sound` | what is heard, written on the drawing, and with the feature `sound` from the loudspeaker |
//! | `touch`, `dragging` | what can be done at what was touched; the kit dragged to a joint |
//! | `stage` | what bevy draws into pictures: shaders, meshes, cameras |
//! | `sight_glass` | what passes in the tee |
//! | `chart`, `chart_draw`, `dividers`, `pyramid` | strip chart and reading slip |
//! | `hands`, `keys`, `focus` | controls and shortcuts, where the keyboard was |
//! | `job_card`, `pictures`, `test_sheet`, `sheet_form`, `sheet_measured`, `sheet_fields`, `candidates`, `reminders`, `workshop`, `finding`, `what_is_left` | the paper |
//! | `coach` | while practising: what each candidate could show, hints |
//! | `debrief`, `worth`, `belief_chart`, `opened` | after hand-back: the mark, belief over time, the line with its wall opened |
//! | `messages`, `twin` | the quiet line; pictures in words |
//! | `places` | where everything that has a name stands, for a check that works the window from outside |
//! | `shelf`, `settings`, `keeping` | the first page, what is set, the folder of records |
//! | `editor`, `task` | where jobs are written, and slow work beside it |
//! | `sitting`, `record`, `retold` | the real sitting behind the panels, its record, its marking, what was said in it |
//! | `theme`, `tokens`, `widgets`, `words` | how it looks and reads |
//! | `script` | scripted sessions and pictures |
//!
//! Nothing here names the hidden state: the window sees observations, and after hand-back a mark and the
//! opened line, which are plain data.

pub mod belief_chart;
pub mod bridge;
pub mod candidates;
pub mod captions;
pub mod chart;
pub mod chart_draw;
pub mod class;
pub mod coach;
pub mod debrief;
pub mod desk;
pub mod dividers;
pub mod dragging;
pub mod editor;
pub mod finding;
mod focus;
pub mod hands;
pub mod job_card;
pub mod keeping;
pub mod keys;
pub mod messages;
pub mod opened;
pub mod outlines;
pub mod pictures;
mod places;
pub mod plan;
pub mod pyramid;
mod record;
pub mod reminders;
mod retold;
pub mod scene;
pub mod scene_layout;
pub mod script;
pub mod session;
pub mod settings;
pub mod sheet_fields;
pub mod sheet_form;
pub mod sheet_measured;
pub mod shelf;
pub mod shell;
pub mod sight_glass;
pub mod sitting;
pub mod sound;
pub mod stage;
pub mod state;
pub mod symbols;
pub mod task;
pub mod test_sheet;
pub mod theme;
pub mod tokens;
pub mod top_line;
pub mod touch;
pub mod twin;
pub mod what_is_left;
pub mod widgets;
pub mod words;
pub mod workshop;
pub mod worth;

pub use shell::{Launch, run_app};
