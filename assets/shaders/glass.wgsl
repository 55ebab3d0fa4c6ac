// The sight glass: a round tube of clear glass with fuel, gas, wax and water in it.
//
// Everything that is seen follows from the numbers in `tube`, which come from what can be perceived; only the places of
// single bubbles are made up, by a fixed rule (`hash`), so that the same state is the same picture every time. Lengths
// are in units of which the tube is 60 wide; `at` is measured from the axis and from the foot of the tube, upwards.
// Colours are mixed as the eye judges them (sRGB) and handed over in linear light at the end.

#import bevy_sprite::mesh2d_vertex_output::VertexOutput

struct Tube {
    fuel: vec4<f32>,
    light: vec4<f32>,
    edge: vec4<f32>,
    ground: vec4<f32>,
    sheet: vec4<f32>,
    ink: vec4<f32>,
    metal: vec4<f32>,
    water: vec4<f32>,
    // width and height with the caps, units; units a pixel; 1 in high contrast
    size: vec4<f32>,
    // share of gas; tubes the fuel has gone through; way of the fuel while the eye looks, units; age, s
    state: vec4<f32>,
    // main feature; grain; haze; flakes
    what: vec4<f32>,
    // beads of water; a level; it falls; direction: 1 to the engine, −1 to the tank, 0 stands
    more: vec4<f32>,
    // speed, m/s; pale fuel; there is a tube at all
    also: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> numbers: array<vec4<f32>, 13>;
var<private> tube: Tube;

// Fetches the numbers, through an index that looks as if it were each pixel's own: a renderer in software that sees a
// constant one would build, and keep, another program for every value that a condition rests on.
fn fetch(uv: vec2<f32>) {
    let skip = select(0, 1, uv.x > 2.0);
    tube.fuel = numbers[skip + 0];
    tube.light = numbers[skip + 1];
    tube.edge = numbers[skip + 2];
    tube.ground = numbers[skip + 3];
    tube.sheet = numbers[skip + 4];
    tube.ink = numbers[skip + 5];
    tube.metal = numbers[skip + 6];
    tube.water = numbers[skip + 7];
    tube.size = numbers[skip + 8];
    tube.state = numbers[skip + 9];
    tube.what = numbers[skip + 10];
    tube.more = numbers[skip + 11];
    tube.also = numbers[skip + 12];
}

// The main features, as `Feature` counts them.
const MOTES: i32 = 0;
const PIN_HEADS: i32 = 1;
const MIST: i32 = 2;
const BUBBLES: i32 = 3;
const FOAM: i32 = 4;
const SLUGS: i32 = 5;
const EMPTY: i32 = 6;
const LEVEL: i32 = 7;

// Looks of bubbles.
const FINE: i32 = 0;
const UNEVEN: i32 = 1;
const BOILING: i32 = 2;

// Half the width of the tube, the thickness of its wall, the height of a cap.
const HALF: f32 = 30.0;
const WALL: f32 = 3.6;
const CAP: f32 = 12.0;
const TAU: f32 = 6.2831853;

fn bore() -> f32 { return HALF - WALL; }
fn high() -> f32 { return tube.size.y - 2.0 * CAP; }
fn px() -> f32 { return tube.size.z; }
fn gone() -> f32 { return tube.state.y * high(); }

// A number from 0 to 1 that depends on nothing but its arguments; the rule of `fixed` in sight_glass.rs.
fn hash(i: i32, j: i32, k: u32) -> f32 {
    var h = (bitcast<u32>(i) * 0x9E3779B9u) ^ (bitcast<u32>(j) * 0xC2B2AE35u) ^ (k * 0x85EBCA6Bu);
    h ^= h >> 15u;
    h *= 0x2C1B3C6Du;
    h ^= h >> 12u;
    h *= 0x297A2D39u;
    h ^= h >> 15u;
    return f32(h >> 8u) / 16777216.0;
}

// Smooth noise between 0 and 1.
fn noise(at: vec2<f32>, k: u32) -> f32 {
    let i = vec2<i32>(floor(at));
    let f = fract(at);
    let w = f * f * (3.0 - 2.0 * f);
    let low = mix(hash(i.x, i.y, k), hash(i.x + 1, i.y, k), w.x);
    let up = mix(hash(i.x, i.y + 1, k), hash(i.x + 1, i.y + 1, k), w.x);
    return mix(low, up, w.y);
}

// How much of a pixel lies inside of an edge at distance 0 (negative inside).
fn inside(distance: f32) -> f32 {
    return clamp(0.5 - distance / px(), 0.0, 1.0);
}

fn linear(c: vec3<f32>) -> vec3<f32> {
    let higher = pow((c + vec3(0.055)) / 1.055, vec3(2.4));
    return select(higher, c / 12.92, c < vec3(0.04045));
}

// Fuel as a round column shows it: darker and redder towards the wall, where the way through it is seen edge on; the
// window is at the left, and the column gathers its light a little right of the middle.
fn column(x: f32, colour: vec3<f32>) -> vec3<f32> {
    let off = abs(x) / HALF;
    let wall = off * off * off * (0.62 + 0.20 * step(0.0, x));
    let dark = wall + 0.10 * smoothstep(-0.2, 1.0, x / HALF);
    let gathered = exp(-pow((x / HALF - 0.12) / 0.34, 2.0));
    return mix(colour * (vec3(1.0) - dark * vec3(0.52, 0.66, 0.84)), tube.light.rgb, 0.17 * gathered);
}

// Nothing but gas: the wall behind it, a little wet.
fn dry(x: f32) -> vec3<f32> {
    let off = abs(x) / HALF;
    return mix(mix(tube.ground.rgb, tube.sheet.rgb, 0.55 * (1.0 - off)), tube.fuel.rgb, 0.05 + 0.22 * off * off * off * off);
}

// One bubble under light from the upper left, `d` from its middle. Gas in fuel is a lens that spreads light: dark at
// the rim, clear in the middle, light gathered opposite to where it comes from, and a spot where the lamp is mirrored.
fn bubble(under: vec3<f32>, d: vec2<f32>, r: f32, hollow: bool, moving: f32) -> vec3<f32> {
    let q = length(d) / r;
    var cover = inside((q - 1.0) * r);
    if cover <= 0.0 { return under; }
    if hollow {
        let rim = smoothstep(0.55, 0.92, q);
        let vapour = mix(under, tube.light.rgb, 0.20);
        let n = d / r;
        let spot = 1.0 - smoothstep(0.10, 0.26, length(n - vec2(-0.40, 0.42)));
        var ring = mix(vapour, tube.edge.rgb, 0.80 * rim);
        ring = mix(ring, vec3(1.0), 0.8 * spot);
        return mix(under, ring, cover);
    }
    let light = mix(tube.fuel.rgb, tube.light.rgb, 0.74);
    if r < 1.7 {
        // too small for anything but a point of light with a shade beside it
        let lit = mix(light, tube.edge.rgb, 0.35 * smoothstep(0.5, 1.0, q) * smoothstep(0.9, 1.7, r));
        return mix(under, lit, cover * mix(0.92, 0.55, moving));
    }
    let n = d / r;
    let rim = smoothstep(0.52, 1.0, q);
    var c = mix(light, tube.edge.rgb, 0.88 * rim * rim);
    let gathered = smoothstep(0.30, 0.80, dot(n, vec2(0.55, -0.68))) * (1.0 - smoothstep(0.72, 0.94, q));
    c = mix(c, tube.light.rgb, 0.85 * gathered);
    let spot = 1.0 - smoothstep(0.13, 0.28, length(n - vec2(-0.36, 0.40)));
    c = mix(c, vec3(1.0), spot * (1.0 - moving));
    return mix(under, c, cover * mix(1.0, 0.68, moving));
}

// Things that float: one in some of the fields of a grid whose columns move with the fuel, quicker in the middle.
struct Swarm {
    pitch: f32,
    // share of the fields that hold one
    share: f32,
    least: f32,
    most: f32,
    salt: u32,
    hollow: bool,
    // they have risen under the upper cap
    risen: bool,
}

fn swarm(under: vec3<f32>, at: vec2<f32>, s: Swarm) -> vec3<f32> {
    var colour = under;
    let columns = max(1, i32(round(2.0 * bore() / s.pitch)));
    let wide = 2.0 * bore() / f32(columns);
    let mine = i32(floor((at.x + bore()) / wide));
    for (var c = max(mine - 1, 0); c <= min(mine + 1, columns - 1); c++) {
        let side = (f32(c) + 0.5) / f32(columns) * 2.0 - 1.0;
        let pace = 1.3 - 0.65 * side * side;
        let y = at.y - select(gone() * pace, 0.0, s.risen);
        let streak = 0.5 * tube.state.z * pace;
        let reach = streak + 1.4 * s.most;
        let first = i32(floor((y - reach) / s.pitch));
        let last = i32(floor((y + reach) / s.pitch));
        for (var row = first; row <= last; row++) {
            var share = s.share;
            if s.risen {
                let up = (f32(row) + 0.5) * s.pitch / high();
                share = s.share * 3.2 * smoothstep(0.66, 1.0, up);
            }
            if hash(row, c, s.salt) >= share { continue; }
            let size = hash(row, c, s.salt + 1u);
            var r = mix(s.least, s.most, size);
            if s.hollow {
                // grows from nothing and collapses again, each at a time of its own
                let beat = fract(tube.state.w * 0.9 + hash(row, c, s.salt + 2u));
                r *= 0.35 + 1.05 * (1.0 - abs(2.0 * beat - 1.0));
            }
            let most = bore() - r - 0.6;
            let x = clamp((f32(c) + 0.5 + 0.8 * (hash(row, c, s.salt + 3u) - 0.5)) * wide - bore(), -most, most);
            var up = (f32(row) + 0.5 + 0.8 * (hash(row, c, s.salt + 4u) - 0.5)) * s.pitch;
            if s.risen { up = min(up, high() - r - 0.5); }
            var d = vec2(at.x - x, y - up);
            d.y -= clamp(d.y, -streak, streak);
            colour = bubble(colour, d, r, s.hollow, clamp(streak / max(r, 1.0), 0.0, 1.0));
        }
    }
    return colour;
}

fn bubbles(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    let gas = tube.state.x;
    let still = tube.more.w == 0.0;
    let grain = i32(tube.what.y);
    if grain == UNEVEN {
        let small = swarm(under, at, Swarm(8.8, 0.07 + 1.5 * gas, 1.3, 3.2, 11u, false, still));
        return swarm(small, at, Swarm(19.0, 0.16 + 4.2 * gas, 3.6, 8.6, 21u, false, still));
    }
    if grain == BOILING {
        return swarm(under, at, Swarm(13.2, 0.18 + 4.4 * gas, 2.4, 6.2, 31u, true, still));
    }
    return swarm(under, at, Swarm(8.8, 0.22 + 6.0 * gas, 2.0, 2.9, 41u, false, still));
}

// Bubbles side by side: each point belongs to the nearest of many middles, and walls stand where two are as near.
fn foam(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    let gas = tube.state.x;
    let grain = i32(tube.what.y);
    let pitch = 9.8 - 9.0 * clamp(gas - 0.08, 0.0, 0.25);
    let p = vec2(at.x, at.y - gone()) / pitch;
    let own = vec2<i32>(floor(p));
    let uneven = select(0.10, 0.42, grain == UNEVEN);
    var near = 9.0;
    var next = 9.0;
    var to = vec2(0.0);
    var light = 0.5;
    for (var j = -2; j <= 2; j++) {
        for (var i = -2; i <= 2; i++) {
            let cell = own + vec2(i, j);
            let jump = vec2(hash(cell.x, cell.y, 51u), hash(cell.x, cell.y, 52u));
            let middle = vec2<f32>(cell) + 0.5 + 0.72 * (jump - 0.5);
            var size = uneven * (hash(cell.x, cell.y, 53u) - 0.5);
            if grain == BOILING {
                size += 0.34 * (1.0 - abs(2.0 * fract(tube.state.w * 0.8 + hash(cell.x, cell.y, 54u)) - 1.0));
            }
            let d = p - middle;
            let far = length(d) - size;
            if far < near {
                next = near;
                near = far;
                to = d;
                light = hash(cell.x, cell.y, 55u);
            } else if far < next {
                next = far;
            }
        }
    }
    let wall = (next - near) * pitch;
    // gas of vapour is clear, gas of air is white with the light it throws back
    let body = mix(under, tube.light.rgb, select(0.46, 0.14, grain == BOILING) * (0.75 + 0.4 * light));
    // one looks through the middle of a bubble; towards its wall it throws the light back, and the wall itself is fuel
    let rim = smoothstep(0.18, 0.62, length(to));
    var c = mix(body, tube.light.rgb, select(0.62, 0.30, grain == BOILING) * rim);
    let thin = 1.0 - smoothstep(0.15, 1.1 + 0.5 * px(), wall);
    c = mix(c, tube.edge.rgb, thin * select(0.60, 0.78, grain == BOILING));
    let spot = 1.0 - smoothstep(0.04, 0.11, length(to - vec2(-0.17, 0.19)));
    c = mix(c, vec3(1.0), 0.80 * spot);
    // quick foam is seen as streaks of its mean
    let blur = clamp(tube.state.z / (3.0 * pitch), 0.0, 0.5);
    return mix(c, mix(body, tube.light.rgb, 0.25), blur);
}

// What a plug leaves behind: small bubbles, dense at its tail and fewer further off.
fn froth(under: vec3<f32>, x: f32, behind: f32, plug: i32, ahead: bool) -> vec3<f32> {
    if behind > 40.0 { return under; }
    var c = under;
    let tall = 4.6;
    let columns = i32(round(2.0 * bore() / 5.4));
    let wide = 2.0 * bore() / f32(columns);
    let mine = i32(floor((x + bore()) / wide));
    let own = i32(floor(behind / tall));
    for (var i = max(mine - 1, 0); i <= min(mine + 1, columns - 1); i++) {
        for (var row = max(own - 1, 0); row <= own + 1; row++) {
            let n = row + 16 * plug;
            if hash(n, i, 61u) > 1.1 * exp(-0.42 * f32(row)) { continue; }
            let r = 0.9 + 1.5 * hash(n, i, 62u);
            let most = bore() - r - 0.6;
            let at = clamp((f32(i) + 0.5 + 0.8 * (hash(n, i, 63u) - 0.5)) * wide - bore(), -most, most);
            let off = (f32(row) + 0.5 + 0.8 * (hash(n, i, 64u) - 0.5)) * tall + 1.0;
            c = bubble(c, vec2(x - at, select(1.0, -1.0, ahead) * (behind - off)), r, false, 0.0);
        }
    }
    return c;
}

// Plugs of gas that fill the bore: a round nose ahead, a thin film of fuel at the wall, froth behind.
fn slugs(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    let pitch = 0.64 * high();
    let long = clamp(tube.state.x, 0.15, 0.9) * pitch;
    let w = at.y - gone();
    let turn = floor(w / pitch);
    let along = w - turn * pitch;
    let ahead = tube.more.w >= 0.0;
    // way behind the nose
    let t = select(along - (pitch - long), long - along, ahead);
    var c = under;
    if t > long || t < 0.0 {
        // fuel between two plugs, with the froth that the one before has left
        c = froth(c, at.x, select(along, pitch - along, ahead), i32(turn), ahead);
    }
    if t > long + 3.0 { return c; }
    if t < -2.0 { return c; }
    let film = bore() - 2.6;
    let round = min(1.15 * film, 0.8 * long);
    let s = clamp(1.0 - t / round, 0.0, 1.0);
    let half = film * sqrt(max(1.0 - s * s, 0.0));
    // a tail that is a little hollow
    let foot = long - 2.2 * (1.0 - (at.x / film) * (at.x / film));
    let edge = max(max(abs(at.x) - half, -t), t - foot);
    let cover = inside(edge);
    let shade = 1.0 - smoothstep(0.0, 3.4, -edge);
    var gas = dry(at.x * 0.85);
    gas = mix(gas, tube.edge.rgb, 0.62 * shade);
    // the nose mirrors the lamp
    let nose = 1.0 - smoothstep(0.6, 1.5, abs(length(vec2(at.x + 3.0, (t - round) * film / round)) - 0.72 * film));
    gas = mix(gas, vec3(1.0), 0.55 * nose * smoothstep(0.35, 0.9, s) * smoothstep(6.0, -6.0, at.x));
    let lip = (1.0 - smoothstep(0.0, 1.8, abs(edge + 1.0))) * 0.75;
    gas = mix(gas, tube.edge.rgb, lip);
    return mix(c, gas, cover);
}

// Drops that run down a wall which fuel has left.
fn drops(under: vec3<f32>, at: vec2<f32>, share: f32, fall: f32) -> vec3<f32> {
    var c = under;
    let wide = 6.6;
    let columns = i32(2.0 * bore() / wide);
    let mine = clamp(i32(floor((at.x + bore()) / wide)), 0, columns - 1);
    let tall = 46.0;
    let y = at.y + fall * (0.6 + 0.8 * hash(mine, 0, 70u));
    let own = i32(floor(y / tall));
    for (var row = own - 1; row <= own + 1; row++) {
        if hash(row, mine, 71u) >= share { continue; }
        let r = 1.1 + 1.3 * hash(row, mine, 72u);
        let x = (f32(mine) + 0.5 + 0.4 * (hash(row, mine, 73u) - 0.5)) * wide - bore();
        let foot = (f32(row) + hash(row, mine, 74u)) * tall;
        let tail = 6.0 + 24.0 * hash(row, mine, 75u);
        let d = vec2(at.x - x, y - foot);
        let track = max(abs(d.x) - 0.55 * r, max(-d.y, d.y - tail));
        let fade = 1.0 - clamp(d.y / tail, 0.0, 1.0);
        c = mix(c, mix(under, tube.fuel.rgb, 0.55), inside(track) * fade);
        let q = length(d) / r;
        var drop = mix(tube.fuel.rgb, tube.edge.rgb, 0.6 * smoothstep(0.55, 1.0, q));
        drop = mix(drop, vec3(1.0), 0.8 * (1.0 - smoothstep(0.15, 0.4, length(d / r - vec2(-0.3, 0.35)))));
        c = mix(c, drop, inside((q - 1.0) * r));
    }
    return c;
}

// Gas above and fuel below, with a surface that climbs at the wall; `surface` is its height on the axis.
fn level(at: vec2<f32>, fuel: vec3<f32>, surface: f32) -> vec3<f32> {
    let off = abs(at.x) / bore();
    let climb = 5.0 * pow(off, 5.0);
    let d = at.y - (surface + climb);
    let falls = tube.more.z > 0.5;
    var gas = drops(dry(at.x), at, select(0.24, 0.62, falls), select(0.0, -tube.state.w * 26.0, falls));
    // the film that is left thins out upwards
    let film = smoothstep(0.80, 1.0, off) * exp(-max(d, 0.0) / select(26.0, 70.0, falls));
    gas = mix(gas, tube.fuel.rgb, 0.65 * film);
    // a surface seen a little from above: its far side is a light ellipse, its near edge a dark line
    let far = d - 5.0 * sqrt(max(1.0 - off * off, 0.0));
    let top = mix(tube.fuel.rgb, tube.light.rgb, 0.35);
    var c = mix(gas, mix(gas, top, 0.85), inside(far) * inside(-d));
    c = mix(c, tube.edge.rgb, 0.45 * (1.0 - smoothstep(0.2, 0.9 + px(), abs(far))) * step(0.0, d));
    c = mix(c, fuel, inside(d));
    let line = 1.0 - smoothstep(0.4, 1.1 + 0.6 * px(), abs(d));
    return mix(c, tube.edge.rgb, 0.92 * line);
}

// Wax: pale scraps at every angle, turning as they go.
fn flakes(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    var c = under;
    let pitch = 13.2;
    let columns = max(1, i32(round(2.0 * bore() / pitch)));
    let wide = 2.0 * bore() / f32(columns);
    let mine = i32(floor((at.x + bore()) / wide));
    for (var i = max(mine - 1, 0); i <= min(mine + 1, columns - 1); i++) {
        let side = (f32(i) + 0.5) / f32(columns) * 2.0 - 1.0;
        let y = at.y - gone() * (1.3 - 0.65 * side * side);
        let own = i32(floor(y / pitch));
        for (var row = own - 1; row <= own + 1; row++) {
            if hash(row, i, 81u) > 0.86 { continue; }
            let x = (f32(i) + 0.5 + 0.7 * (hash(row, i, 82u) - 0.5)) * wide - bore();
            let up = (f32(row) + 0.5 + 0.7 * (hash(row, i, 83u) - 0.5)) * pitch;
            let turn = TAU * hash(row, i, 84u) + tube.state.y * (1.0 + 2.0 * hash(row, i, 85u));
            // a scrap that turns over is seen edge on at times
            let flat = 0.35 + 0.65 * abs(cos(1.7 * turn + 3.0 * hash(row, i, 86u)));
            let d = vec2(at.x - x, y - up);
            let u = vec2(dot(d, vec2(cos(turn), sin(turn))), dot(d, vec2(-sin(turn), cos(turn))));
            let long = 2.6 + 3.4 * hash(row, i, 87u);
            let slim = (1.8 + 1.6 * hash(row, i, 88u)) * flat;
            let ragged = 0.45 * sin(u.x * 1.3 + 9.0 * hash(row, i, 89u)) + 0.3 * sin(u.x * 2.9 + 5.0 * hash(row, i, 90u));
            let edge = (length(vec2(u.x / long, (u.y + 0.4 * ragged) / slim)) - 1.0) * slim + 0.35 * ragged;
            let lit = mix(mix(tube.fuel.rgb, tube.light.rgb, 0.72), tube.light.rgb, flat);
            let scrap = mix(lit, tube.edge.rgb, 0.34 * (1.0 - smoothstep(0.0, 1.0, -edge)));
            // thin where it is seen from the side, and not through and through
            c = mix(c, scrap, inside(edge) * (0.60 + 0.32 * flat));
        }
    }
    return c;
}

// Water: heavier than fuel, so its beads lie in a heap at the foot; a few are carried along.
fn bead(under: vec3<f32>, d: vec2<f32>, r: f32) -> vec3<f32> {
    let q = length(d) / r;
    let cover = inside((q - 1.0) * r);
    let n = d / r;
    let rim = smoothstep(0.60, 1.0, q);
    var c = mix(mix(tube.water.rgb, vec3(1.0), 0.18), tube.water.rgb * 0.45, 0.9 * rim * rim);
    c = mix(c, vec3(1.0), 0.5 * smoothstep(0.35, 0.85, dot(n, vec2(0.55, -0.65))) * (1.0 - smoothstep(0.7, 0.92, q)));
    c = mix(c, vec3(1.0), 1.0 - smoothstep(0.14, 0.30, length(n - vec2(-0.34, 0.38))));
    return mix(under, c, cover);
}

fn beads(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    var c = under;
    for (var i = 0; i < 4; i++) {
        let side = 2.0 * hash(i, 0, 91u) - 1.0;
        let r = 2.6 + 1.8 * hash(i, 0, 92u);
        // water lags behind the fuel
        let up = fract(hash(i, 0, 93u) + 0.7 * tube.state.y * (1.1 - 0.5 * side * side)) * high();
        c = bead(c, vec2(at.x - side * 0.8 * (bore() - r), at.y - up), r);
    }
    if at.y > 30.0 { return c; }
    for (var i = 0; i < 15; i++) {
        let r = 2.6 + 3.2 * hash(i, 1, 94u);
        let x = (hash(i, 1, 95u) - 0.5) * 2.0 * (bore() - r);
        let heap = 1.0 - abs(x) / bore();
        c = bead(c, vec2(at.x - x, at.y - (r + 0.5 + 13.0 * heap * hash(i, 1, 96u))), r);
    }
    return c;
}

// Enough to see that clear fuel moves: threads of slightly other light.
fn motes(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    // a veil hides them
    if tube.more.w == 0.0 || tube.what.z > 0.5 { return under; }
    let long = clamp(4.0 + 30.0 * abs(tube.also.x), 4.0, 22.0) / 2.0;
    var c = under;
    let pitch = 32.0;
    let columns = 5;
    let wide = 2.0 * bore() / f32(columns);
    let mine = clamp(i32(floor((at.x + bore()) / wide)), 0, columns - 1);
    let side = (f32(mine) + 0.5) / f32(columns) * 2.0 - 1.0;
    let y = at.y - gone() * (1.3 - 0.65 * side * side);
    let own = i32(floor(y / pitch));
    for (var row = own - 1; row <= own + 1; row++) {
        if hash(row, mine, 101u) > 0.34 { continue; }
        let x = (f32(mine) + 0.5 + 0.6 * (hash(row, mine, 102u) - 0.5)) * wide - bore();
        let up = (f32(row) + hash(row, mine, 103u)) * pitch;
        let d = vec2(at.x - x, max(abs(y - up) - long, 0.0));
        c = mix(c, tube.light.rgb, 0.42 * inside(length(d) - 0.55));
    }
    return c;
}

// Milky, without a grain: slow clouds that go with the fuel.
fn haze(colour: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    let p = vec2(at.x / 21.0, (at.y - gone()) / 34.0);
    let cloud = 0.65 * noise(p, 111u) + 0.35 * noise(p * 2.3 + vec2(5.0, 0.0), 112u);
    return mix(colour, tube.light.rgb, 0.46 + 0.20 * (cloud - 0.5));
}

fn contents(at: vec2<f32>) -> vec3<f32> {
    let main = i32(tube.what.x);
    let gas = tube.state.x;
    if tube.also.z < 0.5 { return tube.ground.rgb; }
    if main == EMPTY {
        let wet = drops(dry(at.x), at, 0.34, 0.0);
        return mix(wet, column(at.x, tube.fuel.rgb), inside(at.y - 4.0 - 3.0 * pow(abs(at.x) / bore(), 5.0)));
    }
    var fuel = tube.fuel.rgb;
    if main == MIST { fuel = mix(fuel, tube.light.rgb, 0.16); }
    if main == FOAM { fuel = mix(fuel, tube.light.rgb, 0.30); }
    if tube.what.z > 0.5 { fuel = haze(fuel, at); }
    var c = column(at.x, fuel);
    if main == MOTES { c = motes(c, at); }
    if main == PIN_HEADS { c = swarm(c, at, Swarm(17.6, 0.80, 0.9, 1.35, 1u, false, false)); }
    if main == MIST {
        let fine = swarm(c, at, Swarm(5.9, clamp(0.36 + 42.0 * gas, 0.0, 1.0), 0.6, 1.15, 2u, false, false));
        c = swarm(fine, at, Swarm(7.5, 0.55, 0.5, 0.9, 6u, false, false));
    }
    if main == BUBBLES { c = bubbles(c, at); }
    if main == FOAM { c = foam(c, at); }
    if main == SLUGS { c = slugs(c, at); }
    if tube.what.w > 0.5 { c = flakes(c, at); }
    if main == LEVEL {
        let share = clamp(gas, 0.06, 0.95);
        c = level(at, c, (1.0 - share) * high());
    }
    if tube.more.x > 0.5 { c = beads(c, at); }
    return c;
}

// Wall, light on the glass, a mark at every centimetre.
fn glass(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    var c = under;
    let off = abs(at.x);
    // the wall is a lens of its own: what is behind it shows as a bright and a dark line
    let wall = inside(bore() - off);
    let across = (off - bore()) / WALL;
    var clear = mix(mix(tube.sheet.rgb, c, 0.35), tube.ink.rgb, 0.14 + 0.45 * across * across);
    clear = mix(clear, tube.light.rgb, 0.5 * (1.0 - smoothstep(0.08, 0.30, abs(across - 0.38))));
    c = mix(c, clear, wall);
    c = mix(c, tube.edge.rgb, 0.55 * (1.0 - smoothstep(0.2, 0.7 + 0.5 * px(), abs(off - bore()))));
    // the lamp, mirrored on the outside
    let ends = smoothstep(5.0, 11.0, at.y) * (1.0 - smoothstep(high() - 11.0, high() - 5.0, at.y));
    let left = exp(-pow((at.x + 17.6) / 2.6, 2.0));
    let right = exp(-pow((at.x - 21.6) / 1.2, 2.0));
    let lamp = 0.46 * left + 0.26 * right;
    c = mix(c, tube.light.rgb, lamp * ends);
    // marks
    let centimetre = high() / 12.0;
    let n = round(at.y / centimetre);
    let five = abs(n - 5.0 * round(n / 5.0)) < 0.5;
    let long = select(7.0, 12.0, five) + select(0.0, 1.0, tube.size.w > 0.5);
    if n > 0.5 && n < 11.5 {
        let mark = max(abs(at.y - n * centimetre) - 0.5 * max(1.0, px()), at.x + HALF - long);
        c = mix(c, tube.ink.rgb, inside(mark));
    }
    // outline
    let line = 0.5 * select(2.0, 2.8, tube.size.w > 0.5);
    return mix(c, tube.ink.rgb, inside(abs(off - HALF + line) - line));
}

// Distance to a box with round corners.
fn box(at: vec2<f32>, middle: vec2<f32>, half: vec2<f32>, r: f32) -> f32 {
    let d = abs(at - middle) - half + vec2(r);
    return length(max(d, vec2(0.0))) + min(max(d.x, d.y), 0.0) - r;
}

// The screwed caps: rings of metal with a knurl.
fn caps(under: vec3<f32>, at: vec2<f32>) -> vec3<f32> {
    var c = under;
    for (var i = 0; i < 2; i++) {
        let up = i == 1;
        let edge = select(0.0, high(), up);
        let away = select(-1.0, 1.0, up);
        let outer = box(at, vec2(0.0, edge + away * 6.0), vec2(38.0, 6.0), 1.8);
        let off = at.x / 38.0;
        let round = 1.0 - off * off;
        // light ink, on dark paper, would make them glare
        let dim = select(0.10, 0.46, tube.ink.g > 0.5);
        var metal = mix(tube.ink.rgb, tube.metal.rgb, dim + 0.34 * round * smoothstep(0.0, 0.5, 0.9 - abs(off + 0.35)));
        let knurl = smoothstep(0.25, 0.75, fract(at.x / 3.04));
        let rib = smoothstep(4.2, 3.4, abs((at.y - edge) * away - 7.0));
        metal = mix(metal, tube.ink.rgb, 0.42 * knurl * rib);
        c = mix(c, metal, inside(outer));
        let ring = box(at, vec2(0.0, edge + away * 0.4), vec2(33.0, 1.6), 0.8);
        c = mix(c, mix(tube.ink.rgb, tube.metal.rgb, 0.35 + 0.4 * round), inside(ring));
    }
    return c;
}

@fragment
fn fragment(mesh: VertexOutput) -> @location(0) vec4<f32> {
    fetch(mesh.uv);
    let at = vec2((mesh.uv.x - 0.5) * tube.size.x, (1.0 - mesh.uv.y) * tube.size.y - CAP);
    var c = tube.sheet.rgb;
    let in_tube = inside(abs(at.x) - HALF) * inside(max(-at.y, at.y - high()));
    if in_tube > 0.0 {
        c = mix(c, glass(contents(at), at), in_tube);
    }
    c = caps(c, at);
    return vec4(linear(clamp(c, vec3(0.0), vec3(1.0))), 1.0);
}
