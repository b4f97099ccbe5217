// A session in time: a plan becomes stretches, which change on the way and leave
// a log of what was done. A stretch becomes sounds at exact times, and sounds are
// played by the audio clock, a whole set ahead, so that a busy or sleeping page
// keeps the beat. Work is told from rest by rhythm and pitch, not by loudness.
// Times are in seconds.

// settle is how long one has to put the phone down and stand ready.
export const settle = 10;
export const countdown = 3; // notes before a test, one each second
const warning = 10; // before a rest ends
const everySoOften = 10; // between ticks in a rest

// stretches lists what happens when: { set, kind, at, seconds, beats, every }.
// Before the first set stands a rest to get ready. kind is "rest", "steady",
// "burst", "double", or "lead" before work that was paused; every is the time
// from one beat to the next.
export function stretches({ blocks, lead_in }) {
  const list = [{ set: 0, kind: "rest", at: 0, seconds: settle + leadSeconds(blocks[0], lead_in), beats: 0, every: 0 }];
  for (const b of blocks) {
    const last = list[list.length - 1];
    list.push({ set: b.set, kind: b.kind, at: last.at + last.seconds, seconds: b.seconds, beats: b.beats, every: b.beats ? b.seconds / b.beats : 0 });
  }
  return list;
}

function leadSeconds(block, beats) { return block ? beats * block.seconds / block.beats : 0; }

// retime lets every stretch begin where the one before it ends.
export function retime(list) {
  for (let i = 1; i < list.length; i++) list[i].at = list[i - 1].at + list[i - 1].seconds;
}

// resumeAt returns from when to carry on after a pause at a time in stretch i. A
// rest goes on where it stopped. What is left of work begins after a short rest
// with the beats that lead in.
export function resumeAt(list, i, at, leadIn) {
  const s = list[i];
  if (!s?.beats) return at;
  const did = Math.min(s.beats - 1, Math.floor((at - s.at) / s.every));
  s.beats -= did;
  s.seconds = s.beats * s.every;
  list.splice(i, 0, { set: s.set, kind: "lead", at: s.at, seconds: leadIn * s.every + 2, beats: 0, every: 0 });
  retime(list);
  return list[i].at;
}

// endSet ends the set that work i belongs to with the beat that is on.
export function endSet(list, i, at) {
  const s = list[i];
  s.seconds = at - s.at;
  s.beats = Math.max(1, Math.min(s.beats, Math.ceil(s.seconds / s.every)));
  s.cut = true;
  for (let k = i + 1; k < list.length && list[k].set === s.set && list[k].beats;) list.splice(k, 1);
}

// endRest leaves of rest i a second and the beats that lead in.
export function endRest(list, i, at, leadIn) {
  const lead = leadIn * (list[i + 1]?.every ?? 0);
  list[i].seconds = Math.min(list[i].seconds, at - list[i].at + lead + 1);
}

// dropLastSet takes the last set out with the rest before it, during stretch i,
// which ends at once if nothing is left to come.
export function dropLastSet(list, i, at) {
  const last = list.at(-1).set;
  let k = list.findIndex((s) => s.set === last);
  if (k - 1 > i) k--; // the rest before it
  list.length = Math.max(k, i + 1);
  if (list.length === i + 1) list[i].seconds = at - list[i].at;
}

// logOf is the log of a set, begun with the first word about it: the bursts that
// were played to their end, and the catches that were told, null until they are.
// A session is what a phone keeps as { list, seen, log }.
export const logOf = (session, set) => (session.log[set] ??= { bursts: 0, steady: null, burst: null, shortened: false, done: false });

// doneUpTo notes what was done before stretch to and returns the sets whose
// rests are over: nothing more will be said of them.
export function doneUpTo(session, to) {
  const over = [];
  for (; session.seen < to; session.seen++) {
    const s = session.list[session.seen], next = session.list[session.seen + 1];
    if (s.set === 0) continue;
    if (s.kind === "rest") over.push(s.set);
    if ((s.kind === "burst" || s.kind === "double") && !s.cut) logOf(session, s.set).bursts++;
    if (s.beats && next?.kind !== "lead" && !(next?.beats && next.set === s.set)) logOf(session, s.set).done = true;
  }
  return over;
}

// totals sums up a session of so many seconds. Catches are known only where
// something was said of every set.
export function totals(session, bursty, seconds) {
  const logs = Object.values(session.log);
  const sum = (of) => logs.reduce((n, log) => n + (of(log) ?? 0), 0);
  const known = logs.length > 0 && logs.every((log) => log.steady !== null || log.burst !== null);
  const bursts = sum((log) => log.bursts), caught = sum((log) => log.burst);
  return {
    sets: logs.filter((log) => log.done && !log.shortened).length,
    bursts: bursty ? bursts : null,
    clean_bursts: bursty && known ? Math.max(0, bursts - caught) : null,
    catches: known ? sum((log) => log.steady) + caught : null,
    minutes: Math.max(1, Math.round(seconds / 60)),
  };
}

// sounds lists { at, sound } of stretch i: every beat of work, the ticks and the
// warning of a rest, and the beats that lead in to the next work.
export function sounds(list, i, leadIn) {
  const s = list[i], next = list[i + 1];
  const found = s.beats ? workSounds(s, next) : restSounds(s, next, leadIn);
  if (s.beats && (!next || next.kind === "rest")) found.push({ at: s.at + s.seconds, sound: next ? "down" : "end" });
  return found.sort((a, b) => a.at - b.at);
}

function workSounds(s, next) {
  const found = [];
  const rising = s.kind === "steady" && (next?.kind === "burst" || next?.kind === "double") ? 3 : 0; // the last beats tell of the burst
  for (let n = 0; n < s.beats; n++) {
    const at = s.at + n * s.every;
    const left = s.beats - n;
    let sound = s.kind;
    if (left <= Math.min(rising, s.beats - 1)) sound = "rise" + (4 - left);
    else if (s.kind === "steady" && n % 4 === 0) sound = "accent";
    found.push({ at, sound });
    if (s.kind === "double") found.push({ at: at + s.every / 2, sound: "grace" });
  }
  return found;
}

function restSounds(s, next, leadIn) {
  const found = [];
  const end = s.at + s.seconds;
  const lead = next?.beats ? leadIn * next.every : 0;
  for (let n = 0; n < (lead ? leadIn : 0); n++) {
    const at = end - lead + n * next.every;
    if (at >= s.at) found.push({ at, sound: "lead" });
  }
  if (!next || s.kind === "lead") return found;
  if (s.set > 0 && s.seconds > warning + 2) found.push({ at: end - Math.max(warning, lead + 2), sound: "ten" });
  for (let at = s.at + everySoOften; at < end - warning - 1; at += everySoOften) found.push({ at, sound: "tick" });
  return found;
}

// testSounds lists { at, sound } of a test that lasts from start to end: the count
// down to it, its beginning, its last ten seconds and its end. A test that lasts
// until somebody ends it has none of these two, and end is 0.
export function testSounds(start, end) {
  const found = [];
  for (let n = countdown; n > 0; n--) found.push({ at: start - n, sound: "get" });
  found.push({ at: start, sound: "go" });
  if (end) found.push({ at: end, sound: "end" });
  if (end - start > 20) found.push({ at: end - 10, sound: "ten" });
  return found;
}

// workBeats are the sounds that one jumps to.
export const workBeats = ["steady", "accent", "rise1", "rise2", "rise3", "burst", "double"];

// Each sound is a few notes: { pitch in Hz, after and lasting in seconds, loud,
// noise as a share }. Wood for steady, a bright pair for bursts, a soft low note
// to lead in; contours up and down for beginnings and ends.
const notes = {
  steady: [{ pitch: 980, lasting: 0.04, loud: 0.8, noise: 0.3 }],
  accent: [{ pitch: 1240, lasting: 0.04, loud: 0.85, noise: 0.3 }],
  burst: [{ pitch: 1760, lasting: 0.035, loud: 0.8, noise: 0.1 }, { pitch: 2340, after: 0.035, lasting: 0.04, loud: 0.7, noise: 0.1 }],
  double: [{ pitch: 1100, lasting: 0.045, loud: 0.85, noise: 0.25 }],
  grace: [{ pitch: 1650, lasting: 0.025, loud: 0.3, noise: 0.2 }],
  lead: [{ pitch: 620, lasting: 0.06, loud: 0.6, noise: 0.1 }],
  rise1: [{ pitch: 1320, lasting: 0.06, loud: 0.8, noise: 0 }],
  rise2: [{ pitch: 1660, lasting: 0.06, loud: 0.8, noise: 0 }],
  rise3: [{ pitch: 1980, lasting: 0.07, loud: 0.85, noise: 0 }],
  tick: [{ pitch: 440, lasting: 0.03, loud: 0.3, noise: 0.5 }],
  ten: [{ pitch: 880, lasting: 0.1, loud: 0.6, noise: 0 }, { pitch: 880, after: 0.2, lasting: 0.1, loud: 0.6, noise: 0 }],
  down: [{ pitch: 784, lasting: 0.14, loud: 0.7, noise: 0 }, { pitch: 523, after: 0.16, lasting: 0.22, loud: 0.7, noise: 0 }],
  end: [{ pitch: 784, lasting: 0.16, loud: 0.7, noise: 0 }, { pitch: 659, after: 0.18, lasting: 0.16, loud: 0.7, noise: 0 },
    { pitch: 523, after: 0.36, lasting: 0.4, loud: 0.7, noise: 0 }],
  go: [{ pitch: 1320, lasting: 0.25, loud: 0.85, noise: 0 }],
  get: [{ pitch: 660, lasting: 0.12, loud: 0.7, noise: 0 }],
};

const attack = 0.002;

// A Player plays sounds by an audio clock. It keeps what it has scheduled, so
// that everything can be silenced at once.
export class Player {
  constructor(context) {
    this.context = context;
    this.out = context.createGain();
    this.out.connect(context.destination);
    this.buffers = new Map();
    this.scheduled = new Set();
    this.next = 0; // stretch of the list that is followed whose sounds are to be scheduled
  }

  buffer(sound) {
    if (!this.buffers.has(sound)) this.buffers.set(sound, synthesise(this.context, notes[sound]));
    return this.buffers.get(sound);
  }

  // play starts a sound at a time of the audio clock; a time that has passed is
  // left out, so that a late page does not rattle.
  play(sound, at) {
    if (at < this.context.currentTime - 0.005) return;
    const node = this.context.createBufferSource();
    node.buffer = this.buffer(sound);
    node.connect(this.out);
    node.addEventListener("ended", () => this.scheduled.delete(node));
    node.start(Math.max(at, this.context.currentTime));
    this.scheduled.add(node);
  }

  // follow sees to it that stretch i of list, which is on at the time at of the
  // list, and all of its set and the next are on the audio clock.
  follow(list, i, at, leadIn) {
    const drift = this.zero === undefined ? Infinity : Math.abs(this.context.currentTime - this.zero - at);
    if (drift > 0.03) { // the sound was interrupted, or the page slept
      this.silence();
      this.next = i;
      this.zero = this.context.currentTime - at; // the audio clock at the list's beginning
    }
    this.next = Math.max(this.next, i);
    const upTo = list[i].set + 1;
    for (; this.next < list.length && list[this.next].set <= upTo; this.next++) {
      for (const s of sounds(list, this.next, leadIn)) if (s.at >= at - 0.02) this.play(s.sound, this.zero + s.at);
    }
  }

  // silence stops what sounds and what was to come, at once.
  silence() {
    this.zero = undefined;
    this.out.disconnect();
    for (const node of this.scheduled) node.stop();
    this.scheduled.clear();
    this.out = this.context.createGain();
    this.out.connect(this.context.destination);
  }
}

// loud makes an audio clock run and returns a player on it. It has to be called
// by a tap. A device that does not let the clock run is not waited for. With mixed
// sound, what else plays on the device goes on.
export async function loud(mixed = false) {
  if (navigator.audioSession) navigator.audioSession.type = mixed ? "ambient" : "playback";
  const player = new Player(new AudioContext());
  await Promise.race([player.context.resume(), new Promise((done) => setTimeout(done, 300))]);
  return player;
}

// playTest plays a test of so many seconds, 0 for one without an end, and returns
// when it begins, as performance.now() tells time. Sound is heard a little after
// the audio clock says so; the test goes by what is heard, at both ends alike.
export function playTest(player, seconds) {
  const { context } = player;
  const heard = context.outputLatency || context.baseLatency || 0;
  const go = context.currentTime + countdown + 0.2;
  for (const { at, sound } of testSounds(go, seconds && go + seconds)) player.play(sound, at);
  return performance.now() + (go - context.currentTime + heard) * 1000;
}

function synthesise(context, parts) {
  const rate = context.sampleRate;
  const seconds = Math.max(...parts.map((p) => (p.after ?? 0) + p.lasting + 0.02));
  const buffer = context.createBuffer(1, Math.ceil(seconds * rate), rate);
  const wave = buffer.getChannelData(0);
  let seed = 1;
  for (const { pitch, after = 0, lasting, loud, noise } of parts) {
    const first = Math.round(after * rate);
    for (let n = 0; n < (lasting + 0.02) * rate && first + n < wave.length; n++) {
      const t = n / rate;
      seed = (seed * 16807) % 2147483647; // the same noise each time
      const shape = Math.min(1, t / attack) * Math.exp(-4 * Math.max(0, t - attack) / lasting);
      wave[first + n] += loud * shape * ((1 - noise) * Math.sin(2 * Math.PI * pitch * t) + noise * (seed / 1073741823.5 - 1));
    }
  }
  return buffer;
}
