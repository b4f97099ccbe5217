// Taps on a pad, the turning rate that they show, and the rate of a count, each
// with its uncertainty: the same rules and the same numbers as on the gym's
// computer, so that a phone without a signal shows what will be kept. Times are in
// seconds.

const leastTaps = 4;
const shortestGap = 0.25; // of the median gap: closer taps are a wet screen's
const longestGap = 2.5; // of the median gap: beyond it a new piece begins
const highest = 600; // rpm

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : sorted[middle - 1] + (sorted[middle] - sorted[middle - 1]) / 2;
}

const gaps = (at) => at.slice(1).map((t, i) => t - at[i]);

function debounce(at, least) {
  const kept = [at[0]];
  for (const t of at.slice(1)) if (t - kept[kept.length - 1] >= least) kept.push(t);
  return kept;
}

function centre(values, start, end) {
  let total = 0;
  for (let i = start; i < end; i++) total += values[i];
  const mean = total / (end - start);
  for (let i = start; i < end; i++) values[i] -= mean;
}

// rateOfTaps returns { rpm, u, filled, dropped, rotations, pieces, longestRest }
// of taps that stand for perTap rotations each, split where a catch was
// pressed. u is null where the pieces are too short to show scatter. It returns
// null where the taps show no rate.
export function rateOfTaps(taps, perTap, catches) {
  if (taps.length < leastTaps) return null;
  const at = debounce(taps, shortestGap * median(gaps(taps)));
  if (at.length < leastTaps) return null;
  const usual = median(gaps(at));
  const steps = at.map(() => 0);
  const times = [...at];
  const found = { filled: 0, dropped: taps.length - at.length, pieces: 0, longestRest: 0 };
  for (let start = 0; start < at.length;) {
    let end = start + 1;
    for (; end < at.length; end++) {
      const from = at[end - 1], to = at[end];
      if (to - from > longestGap * usual || catches.some((c) => from < c && c <= to)) break;
      steps[end] = steps[end - 1] + Math.max(1, Math.round((to - from) / usual));
    }
    found.pieces++;
    found.filled += steps[end - 1] - (end - 1 - start);
    if (end < at.length) found.longestRest = Math.max(found.longestRest, at[end] - at[end - 1]);
    centre(steps, start, end);
    centre(times, start, end);
    start = end;
  }
  let xx = 0, xy = 0, left = 0;
  steps.forEach((x, i) => { xx += x * x; xy += x * times[i]; });
  const slope = xy / xx;
  steps.forEach((x, i) => { left += (times[i] - slope * x) ** 2; });
  const freedom = at.length - found.pieces - 1;
  const rpm = 60 * perTap / slope;
  if (!(slope > 0) || !(rpm <= highest)) return null;
  const u = freedom > 0 ? rpm * (Math.sqrt(left / freedom / xx) / slope) : null;
  return { ...found, rpm, u, rotations: perTap * (at.length + found.filled) };
}

// rateOfCount returns { rpm, u } of a count over a window that the phone's
// sound started and stopped.
export function rateOfCount(rotations, seconds) {
  const rpm = 60 * rotations / seconds;
  return { rpm, u: Math.hypot(60 / Math.sqrt(3) / seconds, rpm * 0.05 / seconds) };
}

// figure writes a rate as people read it: "174 ± 3".
export function figure({ rpm, u }) {
  return u === null ? String(Math.round(rpm)) : `${Math.round(rpm)} ± ${Math.max(1, Math.round(2 * u))}`;
}

// onTap calls tap with the time stamp of each touch of pad, of one finger alone,
// and of each press of a key on it.
export function onTap(pad, tap) {
  pad.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button !== 0) return;
    event.preventDefault();
    tap(event.timeStamp);
  });
  pad.addEventListener("keydown", (event) => {
    if (event.repeat || event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    tap(event.timeStamp);
  });
}
