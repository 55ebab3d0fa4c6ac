//! The thin rest that knows bevy: a window, a clock, pictures of the window.

use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use bevy::app::{ScheduleRunnerPlugin, TaskPoolOptions, TaskPoolPlugin};
use bevy::camera::RenderTarget;
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::mesh::allocator::MeshAllocatorSettings;
use bevy::render::render_resource::{PollType, TextureFormat};
use bevy::render::renderer::{RenderAdapterInfo, RenderDevice};
use bevy::render::settings::{MemoryHints, WgpuSettings};
use bevy::render::view::window::screenshot::{Screenshot, ScreenshotCaptured, save_to_disk};
use bevy::render::{Render, RenderApp, RenderPlugin, RenderSystems};
use bevy::window::{ExitCondition, PrimaryWindow, WindowResolution};
use bevy::winit::{UpdateMode, WinitPlugin, WinitSettings};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiInput, EguiPlugin, EguiPreUpdateSet, EguiPrimaryContextPass,
    PrimaryEguiContext, egui,
};

use super::desk::Desk;
use super::places::{Places, write_places};
use super::script::{Runner, Step, Wish};
use super::session::Shelf;
use super::stage::StagePlugin;

/// The line that is said where no window can be opened.
pub const NO_WINDOW: &str =
    "no window can be opened here; without one, work a job with: faultbay sit JOB --actions -";

/// Code with which the window closes after a script of which a step was refused.
const REFUSED: u8 = 3;

/// How the window is opened.
pub struct Launch {
    /// Where the jobs come from.
    pub shelf: Box<dyn Shelf>,
    /// Open this job at once.
    pub job: Option<usize>,
    /// Size of the window in points.
    pub size: (u32, u32),
    /// A script to run, and the folder for its pictures.
    pub script: Option<(Vec<Step>, PathBuf)>,
    /// Where the places of everything in the window are written down, for a program that works it from outside.
    pub places: Option<PathBuf>,
    /// Draw into a picture instead of a window, as fast as it goes: for a script on a machine without a display.
    pub offscreen: bool,
}

impl Launch {
    /// The design size, no job yet, no script.
    pub fn new(shelf: Box<dyn Shelf>) -> Self {
        Self { shelf, job: None, size: (1366, 768), script: None, places: None, offscreen: false }
    }
}

/// Why no window will open, as far as that can be told beforehand.
fn display_missing() -> bool {
    if !cfg!(target_os = "linux") {
        return false;
    }
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    !set("DISPLAY") && !set("WAYLAND_DISPLAY")
}

/// Opens the window and stays until it is closed.
///
/// # Errors
/// One line when no window can be opened; it names the way without one.
pub fn run_app(launch: Launch) -> anyhow::Result<()> {
    if !launch.offscreen && display_missing() {
        anyhow::bail!(NO_WINDOW);
    }
    // the window library panics where there is a display but no way to draw on it; that is no bug of
    // ours and the message above helps more than a backtrace
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|info| {
        if std::env::var_os("RUST_BACKTRACE").is_some() {
            eprintln!("{info}");
        }
    }));
    let ended = launch.script.as_ref().map(|_| Arc::<AtomicBool>::default());
    let exit = catch_unwind(AssertUnwindSafe(|| build(launch, ended.clone()).run()));
    std::panic::set_hook(hook);
    match exit {
        Ok(exit) => closed(&exit, ended.map(|ended| ended.load(Ordering::Relaxed))),
        Err(_) => anyhow::bail!(NO_WINDOW),
    }
}

/// What the window's end means. `ended`: where it followed a script, whether that came to its `exit`.
fn closed(exit: &AppExit, ended: Option<bool>) -> anyhow::Result<()> {
    match exit {
        AppExit::Error(code) if code.get() == REFUSED => anyhow::bail!("a step of the script was refused"),
        AppExit::Error(code) => anyhow::bail!("the window closed with code {code}"),
        // what it was to show wasn't all shown
        AppExit::Success if ended == Some(false) => {
            anyhow::bail!("the window was closed before the script came to its `exit`")
        }
        AppExit::Success => Ok(()),
    }
}

/// What the window asks of the renderer: memory in blocks of 8 MiB. The blocks that are usual hold 64 MiB and
/// more, of which its buffers and textures leave most unused.
fn frugal() -> WgpuSettings {
    let block = 8 << 20;
    WgpuSettings {
        memory_hints: MemoryHints::Manual { suballocated_device_memory_block_size: block..block },
        ..default()
    }
}

/// At most this many threads draw, and as many work at a belief: each keeps memory of its own, and more
/// would not be felt.
const THREADS: usize = 4;

fn few_threads() -> TaskPoolPlugin {
    #[cfg(feature = "parallel")]
    {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        // Where threads were shared out already, they stay as they are.
        drop(rayon::ThreadPoolBuilder::new().num_threads(cores.min(THREADS)).build_global());
    }
    TaskPoolPlugin { task_pool_options: TaskPoolOptions { max_total_threads: THREADS, ..default() } }
}

fn build(launch: Launch, ended: Option<Arc<AtomicBool>>) -> App {
    let began = Instant::now();
    let mut desk = Desk::new(launch.shelf);
    if let Some(index) = launch.job {
        desk.take(index);
    }
    let mut app = App::new();
    // a picture that is drawn once mustn't miss what isn't compiled yet
    let plugins = DefaultPlugins
        .set(RenderPlugin { synchronous_pipeline_compilation: true, render_creation: frugal().into(), ..default() })
        .set(few_threads())
        .set(LogPlugin { filter: "error".to_owned(), ..default() });
    if launch.offscreen {
        let none = WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() };
        app.add_plugins(plugins.set(none).disable::<WinitPlugin>())
            .add_plugins(ScheduleRunnerPlugin::run_loop(Duration::ZERO));
    } else {
        app.add_plugins(plugins.set(WindowPlugin { primary_window: Some(window(launch.size)), ..default() }));
    }
    app.add_plugins((EguiPlugin::default(), StagePlugin))
        .insert_resource(EguiGlobalSettings { auto_create_primary_context: false, ..default() })
        .insert_resource(Canvas(launch.offscreen.then_some(launch.size)))
        .add_systems(Startup, put_up)
        .add_systems(
            PreUpdate,
            drop_idle_modifiers.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass),
        )
        .add_systems(Update, (pass_time, tell_first_frame, follow_script, picture).chain())
        .add_systems(EguiPrimaryContextPass, draw);
    if let Some(render) = app.get_sub_app_mut(RenderApp) {
        // every mesh has its own buffers: what is kept to share one, a megabyte and a half, is more than it holds
        render.world_mut().resource_mut::<MeshAllocatorSettings>().large_threshold = 0;
        if launch.offscreen {
            render.add_systems(Render, until_drawn.in_set(RenderSystems::PostCleanup));
        }
    }
    if let Some(file) = launch.places {
        app.insert_resource(Places::to(file)).add_systems(Last, write_places);
    }
    #[cfg(feature = "sound")]
    add_speaker(&mut app, &mut desk);
    app.world_mut().insert_non_send(desk);
    if let Some((mut steps, folder)) = launch.script {
        // what draws as fast as it goes never rests
        steps.retain(|step| !(launch.offscreen && matches!(step, Step::Idle(..))));
        if launch.offscreen {
            // nobody could close it
            steps.push(Step::Exit);
        }
        app.world_mut().insert_non_send(Pictures {
            runner: Runner::new(steps),
            folder,
            began: Some(began),
            frames: 0,
            refused: false,
            ended: ended.unwrap_or_default(),
        });
    }
    app
}

fn window((width, height): (u32, u32)) -> Window {
    Window {
        title: "Faultbay".to_owned(),
        resolution: WindowResolution::new(width, height),
        resize_constraints: WindowResizeConstraints { min_width: 640.0, min_height: 400.0, ..default() },
        ..default()
    }
}

/// Size of the picture that stands for a window; none: there is a window.
#[derive(Resource)]
struct Canvas(Option<(u32, u32)>);

/// The picture that stands for a window.
#[derive(Resource)]
struct Offscreen(Handle<Image>);

/// The camera that everything is seen by.
fn put_up(canvas: Res<Canvas>, mut images: ResMut<Assets<Image>>, mut commands: Commands) {
    // egui smooths its own edges
    let mut camera = commands.spawn((Camera2d, PrimaryEguiContext, Msaa::Off));
    if let Some((width, height)) = canvas.0 {
        let mut image = Image::new_target_texture(width, height, TextureFormat::Rgba8UnormSrgb, None);
        // it lives on the graphics card alone
        image.data = None;
        let image = images.add(image);
        camera.insert(RenderTarget::from(image.clone()));
        commands.insert_resource(Offscreen(image));
    }
}

/// Nobody shows the picture, so nothing would wait for it: a frame counts when it is drawn, not when it is ordered.
fn until_drawn(device: Res<RenderDevice>) {
    if let Err(why) = device.poll(PollType::wait_indefinitely()) {
        error!("{why}");
    }
}

/// Opens the loudspeaker; where there is none the settings say why.
#[cfg(feature = "sound")]
fn add_speaker(app: &mut App, desk: &mut Desk) {
    match super::sound::speaker::Speaker::open() {
        Ok(speaker) => {
            app.world_mut().insert_non_send(speaker);
            app.add_systems(Update, |desk: NonSend<Desk>, speaker: NonSend<super::sound::speaker::Speaker>| {
                speaker.play(desk.voices());
            });
        }
        Err(why) => desk.no_sound = Some(why),
    }
}

/// Simulated time follows real time; a desk where nothing moves costs nothing.
fn pass_time(
    time: Res<Time<Real>>,
    mut desk: NonSendMut<Desk>,
    pace: Option<ResMut<WinitSettings>>,
    script: Option<NonSend<Pictures>>,
) {
    desk.tick(time.delta_secs_f64());
    let Some(mut pace) = pace else { return };
    let mode = if desk.is_moving() || script.is_some_and(|s| !s.runner.rests()) {
        UpdateMode::Continuous
    } else {
        UpdateMode::reactive(Duration::from_millis(
            if desk.is_marking() || desk.is_writing() || desk.is_asking() || desk.is_waiting() {
                200
            } else {
                2000
            },
        ))
    };
    pace.focused_mode = mode;
    pace.unfocused_mode = mode;
}

/// The input of every frame says which modifier keys are held, even when nothing has changed; egui takes
/// any event for a reason to draw again, so that an idle window would never rest.
fn drop_idle_modifiers(mut inputs: Query<&mut EguiInput>, mut last: Local<Option<egui::Modifiers>>) {
    for mut input in &mut inputs {
        input.0.events.retain(|event| match event {
            egui::Event::ModifiersChanged(now) => last.replace(*now) != Some(*now),
            // egui forgets them with the focus
            egui::Event::WindowFocused(_) => {
                *last = None;
                true
            }
            _ => true,
        });
    }
}

/// Draws the desk.
fn draw(mut contexts: EguiContexts, mut desk: NonSendMut<Desk>) -> Result {
    let ctx = contexts.ctx_mut()?;
    let whole = egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(ctx.viewport_rect());
    let mut ui = egui::Ui::new(ctx.clone(), "desk".into(), whole);
    desk.ui(&mut ui);
    Ok(())
}

/// Takes the picture of the chart that was asked for.
fn picture(mut desk: NonSendMut<Desk>, mut commands: Commands, window: Query<&Window, With<PrimaryWindow>>) {
    let Some((path, rect)) = desk.take_picture() else { return };
    let Ok(window) = window.single() else { return };
    // points of the desk to pixels of the picture
    let per = window.scale_factor() * desk.scale();
    let part = rect.expand(1.0);
    let pixels = [part.left(), part.top(), part.width(), part.height()].map(|v| (v * per).max(0.0).round() as u32);
    commands.spawn(Screenshot::primary_window()).observe(move |shot: On<ScreenshotCaptured>| {
        let [x, y, width, height] = pixels;
        match shot.image.clone().try_into_dynamic() {
            Ok(whole) => {
                if let Err(why) = whole.crop_imm(x, y, width, height).to_rgb8().save(&path) {
                    error!("{}: {why}", path.display());
                }
            }
            Err(why) => error!("{}: {why}", path.display()),
        }
    });
}

struct Pictures {
    runner: Runner,
    folder: PathBuf,
    /// When the program began, until the first usable frame was told.
    began: Option<Instant>,
    frames: u32,
    /// A step was refused.
    refused: bool,
    /// The script came to its end, for whoever waits for the window's.
    ended: Arc<AtomicBool>,
}

impl Pictures {
    /// Writes a line down, beside the pictures and where whoever started the script reads it.
    fn note(&self, words: &str) {
        let path = self.folder.join("frames.txt");
        let file = std::fs::OpenOptions::new().create(true).append(true).open(&path);
        if let Err(why) = file.and_then(|mut f| writeln!(f, "{words}")) {
            error!("{}: {why}", path.display());
        }
        let _ = writeln!(std::io::stdout(), "{words}");
    }
}

/// Frames after which the first view has been shown with its letters.
const USABLE: u32 = 3;

/// Says once how long it took until there was something to work with, and what draws it.
fn tell_first_frame(script: Option<NonSendMut<Pictures>>, card: Option<Res<RenderAdapterInfo>>) {
    let Some(mut script) = script else { return };
    script.frames += 1;
    if script.frames > USABLE
        && let Some(began) = script.began.take()
    {
        let card = card.map_or(String::new(), |c| format!(", {} ({})", c.name, c.backend));
        script.note(&format!("first usable frame after {:.2} s{card}", began.elapsed().as_secs_f64()));
    }
}

/// The most memory that this program has held at once, in MiB, what it shares with others included; Linux tells it.
fn held_at_most() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let kib = status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse().ok());
    kib.map(|kib: u64| kib.div_ceil(1024))
}

/// Carries out the script's steps of this frame.
fn follow_script(
    script: Option<NonSendMut<Pictures>>,
    mut desk: NonSendMut<Desk>,
    mut commands: Commands,
    mut exit: MessageWriter<AppExit>,
    time: Res<Time<Real>>,
    window: Query<&Window, With<PrimaryWindow>>,
    offscreen: Option<Res<Offscreen>>,
) {
    let Some(mut script) = script else { return };
    if window.is_empty() && offscreen.is_none() {
        return;
    }
    match script.runner.frame(&mut desk, time.delta_secs_f64()) {
        Wish::Nothing => {}
        Wish::Note(words) => script.note(&words),
        Wish::Refused(words) => {
            script.refused = true;
            let _ = writeln!(std::io::stderr(), "refused: {words}");
        }
        Wish::Shot(name) => {
            let path = script.folder.join(format!("{name}.png"));
            let shot = match offscreen {
                Some(image) => Screenshot::image(image.0.clone()),
                None => Screenshot::primary_window(),
            };
            commands.spawn(shot).observe(save_to_disk(path));
        }
        Wish::Exit => {
            if let Some(held) = held_at_most() {
                script.note(&format!("memory at most {held} MiB"));
            }
            script.ended.store(true, Ordering::Relaxed);
            exit.write(if script.refused { AppExit::from_code(REFUSED) } else { AppExit::Success });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_that_is_closed_before_its_script_ends_has_failed() {
        let words = |exit: AppExit, ended| closed(&exit, ended).err().map(|why| why.to_string());
        assert_eq!(words(AppExit::Success, None), None, "a window without a script");
        assert_eq!(words(AppExit::Success, Some(true)), None, "a script to its end");
        let by_hand = words(AppExit::Success, Some(false)).expect("a failure");
        assert!(by_hand.contains("before the script"), "{by_hand}");
        let refused = words(AppExit::from_code(REFUSED), Some(true)).expect("a failure");
        assert!(refused.contains("refused"), "{refused}");
    }
}
