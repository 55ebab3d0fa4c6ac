// What moves in the line either side of the tee. The hose of the tee is clear: there one sees what passes, as in the
// sight glass. Beyond it the vehicle's lines are opaque; arrows on them say where the fuel goes and how fast.
//
// `uv.x` is the way from the tee in units of the drawing, positive with the flow; `uv.y` is −1 … 1 across, 1 above.

#import bevy_sprite::mesh2d_vertex_output::VertexOutput

struct Flow {
    fuel: vec4<f32>,
    light: vec4<f32>,
    edge: vec4<f32>,
    sheet: vec4<f32>,
    ink: vec4<f32>,
    // half the width of the ribbon; half the length of the clear hose; way on which arrows are shown: units; units a pixel
    size: vec4<f32>,
    // share of gas; way the fuel has gone; way while the eye looks: units; age, s
    state: vec4<f32>,
    // main feature and grain, as in glass.wgsl; haze; flakes
    what: vec4<f32>,
    // direction: 1 with the flow, −1 against it, 0 stands; dry: no tee's glass to look into
    more: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> numbers: array<vec4<f32>, 9>;
var<private> line: Flow;

// Fetches the numbers, through an index that looks as if it were each pixel's own: a renderer in software that sees a
// constant one would build, and keep, another program for every value that a condition rests on.
fn fetch(uv: vec2<f32>) {
    let skip = select(0, 1, uv.x > 2.0);
    line.fuel = numbers[skip + 0];
    line.light = numbers[skip + 1];
    line.edge = numbers[skip + 2];
    line.sheet = numbers[skip + 3];
    line.ink = numbers[skip + 4];
    line.size = numbers[skip + 5];
    line.state = numbers[skip + 6];
    line.what = numbers[skip + 7];
    line.more = numbers[skip + 8];
}

// The main features and looks of bubbles, numbered as in glass.wgsl.
const MOTES: i32 = 0;
const PIN_HEADS: i32 = 1;
const MIST: i32 = 2;
const BUBBLES: i32 = 3;
const FOAM: i32 = 4;
const SLUGS: i32 = 5;
const EMPTY: i32 = 6;
const LEVEL: i32 = 7;
const UNEVEN: i32 = 1;
const BOILING: i32 = 2;

fn hash(i: i32, j: i32, k: u32) -> f32 {
    var h = (bitcast<u32>(i) * 0x9E3779B9u) ^ (bitcast<u32>(j) * 0xC2B2AE35u) ^ (k * 0x85EBCA6Bu);
    h ^= h >> 15u;
    h *= 0x2C1B3C6Du;
    h ^= h >> 12u;
    h *= 0x297A2D39u;
    h ^= h >> 15u;
    return f32(h >> 8u) / 16777216.0;
}

fn inside(distance: f32) -> f32 {
    return clamp(0.5 - distance / line.size.w, 0.0, 1.0);
}

fn linear(c: vec3<f32>) -> vec3<f32> {
    let higher = pow((c + vec3(0.055)) / 1.055, vec3(2.4));
    return select(higher, c / 12.92, c < vec3(0.04045));
}

// Bubbles on their way: one in some of the fields along the hose.
fn bubbles(under: vec3<f32>, at: vec2<f32>, bore: f32, pitch: f32, share: f32, least: f32, most: f32) -> vec3<f32> {
    var c = under;
    let x = at.x - line.state.y;
    let streak = 0.5 * line.state.z;
    let first = i32(floor((x - streak - most) / pitch));
    let last = i32(floor((x + streak + most) / pitch));
    for (var i = first; i <= last; i++) {
        for (var j = 0; j < 2; j++) {
            if hash(i, j, 1u) >= share { continue; }
            var r = mix(least, most, hash(i, j, 2u) * hash(i, j, 3u));
            if i32(line.what.y) == BOILING {
                r *= 0.35 + 1.05 * (1.0 - abs(2.0 * fract(line.state.w * 0.9 + hash(i, j, 4u)) - 1.0));
            }
            // gas keeps to the upper side of a level hose
            let side = (1.5 * hash(i, j, 5u) - 0.5) * (bore - r);
            var d = vec2(x - (f32(i) + hash(i, j, 6u)) * pitch, at.y - side);
            d.x -= clamp(d.x, -streak, streak);
            let q = length(d) / r;
            let lit = mix(mix(line.fuel.rgb, line.light.rgb, 0.85), line.edge.rgb, 0.6 * smoothstep(0.55, 1.0, q));
            c = mix(c, lit, inside((q - 1.0) * r));
        }
    }
    return c;
}

fn contents(at: vec2<f32>, bore: f32) -> vec3<f32> {
    let off = at.y / bore;
    let gas = line.state.x;
    let main = i32(line.what.x);
    var fuel = line.fuel.rgb;
    if line.what.z > 0.5 { fuel = mix(fuel, line.light.rgb, 0.45); }
    if main == MIST { fuel = mix(fuel, line.light.rgb, 0.20); }
    if main == FOAM { fuel = mix(fuel, line.light.rgb, 0.42); }
    var c = fuel * (vec3(1.0) - 0.62 * off * off * vec3(0.42, 0.52, 0.66));
    c = mix(c, line.light.rgb, 0.28 * (1.0 - smoothstep(0.05, 0.30, abs(off - 0.42))));
    let dry = mix(line.sheet.rgb, line.ink.rgb, 0.05 + 0.10 * off * off);
    let uneven = i32(line.what.y) == UNEVEN;
    if main == MOTES && line.what.z < 0.5 {
        // threads of slightly other light show that clear fuel moves
        let x = at.x - line.state.y;
        let n = i32(floor(x / 9.0));
        let d = vec2(max(abs(x - (f32(n) + 0.5) * 9.0) - 2.2, 0.0), at.y - (2.0 * hash(n, 0, 7u) - 1.0) * 0.6 * bore);
        c = mix(c, line.light.rgb, 0.5 * abs(line.more.x) * inside(length(d) - 0.45));
    }
    if main == PIN_HEADS { c = bubbles(c, at, bore, 9.0, 0.35, 0.5, 0.8); }
    if main == MIST { c = bubbles(c, at, bore, 2.4, 0.75, 0.4, 0.7); }
    if main == BUBBLES { c = bubbles(c, at, bore, 4.2, 0.25 + 6.0 * gas, 0.7, select(1.3, 2.7, uneven)); }
    if main == FOAM {
        c = bubbles(c, at, bore, 2.6, 0.95, 0.8, 1.6);
        c = bubbles(c, at, bore, 3.1, 0.95, 0.9, select(1.6, 2.4, uneven));
    }
    if main == SLUGS {
        let pitch = 34.0;
        let w = at.x - line.state.y;
        let x = w - floor(w / pitch) * pitch;
        let long = clamp(gas, 0.15, 0.9) * pitch;
        let film = bore - 0.7;
        let t = select(x - (pitch - long), long - x, line.more.x >= 0.0);
        let s = clamp(1.0 - t / (1.3 * film), 0.0, 1.0);
        let edge = max(abs(at.y) - film * sqrt(max(1.0 - s * s, 0.0)), max(-t, t - long));
        let rim = 1.0 - smoothstep(0.0, 1.0, -edge);
        c = mix(c, mix(dry, line.edge.rgb, 0.65 * rim), inside(edge));
    }
    if main == LEVEL {
        let surface = (1.0 - 2.0 * clamp(gas, 0.06, 0.95)) * bore;
        let d = at.y - surface;
        c = mix(dry, c, inside(d));
        c = mix(c, line.edge.rgb, 0.8 * (1.0 - smoothstep(0.2, 0.7, abs(d))));
    }
    if main == EMPTY {
        c = mix(dry, fuel, 0.8 * inside(at.y + 0.8 * bore));
    }
    if line.what.w > 0.5 {
        let x = at.x - line.state.y;
        let n = i32(floor(x / 4.5));
        let a = 6.28 * hash(n, 1, 8u);
        let d = vec2(x - (f32(n) + 0.5) * 4.5, at.y - (2.0 * hash(n, 1, 9u) - 1.0) * 0.65 * bore);
        let u = vec2(dot(d, vec2(cos(a), sin(a))), dot(d, vec2(-sin(a), cos(a))));
        c = mix(c, line.light.rgb, inside(max(abs(u.x) - 1.5, abs(u.y) - 0.6)));
    }
    return c;
}

@fragment
fn fragment(mesh: VertexOutput) -> @location(0) vec4<f32> {
    fetch(vec2(abs(mesh.uv.y), 0.0));
    let half = line.size.x;
    let at = vec2(mesh.uv.x, mesh.uv.y * half);
    let end = abs(at.x) - line.size.y;
    // the hose and its wall
    let wall = max(abs(at.y) - 4.9, end);
    var cover = inside(wall);
    var c = line.ink.rgb;
    let bore = 3.6;
    if cover > 0.0 && line.more.y < 0.5 {
        c = mix(c, contents(at, bore), inside(abs(at.y) - bore));
        // a bright line along the wall, as clear hose has it
        c = mix(c, line.sheet.rgb, 0.55 * (1.0 - smoothstep(0.15, 0.55, abs(abs(at.y) - 4.15))));
    } else if line.more.y >= 0.5 {
        cover = 0.0;
    }
    // ferrules where the clear hose ends
    let ferrule = max(abs(abs(at.x) - line.size.y) - 1.6, abs(at.y) - 5.4);
    if line.more.y < 0.5 {
        c = mix(c, line.ink.rgb, inside(ferrule));
        cover = max(cover, inside(ferrule));
    }
    // arrows beyond it
    let fade = 0.80 * (1.0 - abs(at.x) / (line.size.z * 1.15)) * select(1.0, 0.0, line.more.y >= 0.5);
    if end > 3.0 && abs(at.x) < line.size.z && fade > 0.0 {
        let apart = 16.0;
        let w = at.x - line.state.y;
        let x = w - apart * round(w / apart);
        let ahead = select(x, -x, line.more.x < 0.0);
        var mark = max(abs(ahead + 1.5 * abs(at.y)) * 0.55 - 0.62, abs(at.y) - 1.75);
        if line.more.x == 0.0 { mark = length(vec2(x, at.y)) - 0.8; }
        let shown = fade * inside(mark);
        if shown > cover {
            c = line.ink.rgb;
            cover = shown;
        }
    }
    return vec4(linear(clamp(c, vec3(0.0), vec3(1.0))) * cover, cover);
}
