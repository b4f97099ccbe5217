// The countdown to a wave's test and the test itself, on this tablet's loudspeaker.
import { loud, testSounds } from "/static/js/cue.js";

const lead = 5; // seconds to get ready

let player = null;

// countdown runs the clock of section and says in words what wave has to do.
export async function countdown(section, wave, words, say) {
  const seconds = Number(section.dataset.countdown);
  const clock = section.querySelector("[data-countdown-clock]");
  player ??= await loud();
  await player.context.resume();
  navigator.wakeLock?.request("screen").catch(() => {});
  const starts = performance.now() / 1000 + lead, sounds = player.context.currentTime + lead;
  for (const { at, sound } of testSounds(sounds, sounds + seconds)) player.play(sound, at);
  say(words.wave.replace("{wave}", wave));
  const tick = () => {
    const elapsed = performance.now() / 1000 - starts;
    const left = Math.ceil(elapsed < 0 ? -elapsed : seconds - elapsed);
    if (elapsed >= seconds) {
      clock.textContent = words.over;
      say(words.count);
      return;
    }
    clock.textContent = elapsed < 0 ? words.ready.replace("{left}", left) : `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
    setTimeout(tick, 100);
  };
  tick();
}
