let context: AudioContext | null = null;

/** A low tone for what was refused; silent where the browser does not let a page sound. */
export function lowTone(): void {
  try {
    context ??= new AudioContext();
    const oscillator = context.createOscillator();
    const gain = context.createGain();
    oscillator.frequency.value = 220;
    gain.gain.value = 0.2;
    oscillator.connect(gain).connect(context.destination);
    oscillator.start();
    oscillator.stop(context.currentTime + 0.25);
  } catch {
    // The band says it all the same.
  }
}
