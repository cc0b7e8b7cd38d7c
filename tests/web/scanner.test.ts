import { describe, expect, test } from 'vitest';
import { Gatherer } from '../../web/src/line/scanner.ts';
import type { Gathered } from '../../web/src/line/scanner.ts';

const RULE = { suffixes: ['Enter', 'Tab'], gapMs: 50 };
const SERIAL = 'AQ1105-26K24-00001';

/** The keys that give a text, and one more. */
const keysOf = (text: string, suffix: string): string[] => [...Array.from(text), suffix];

/** Sends keys with so many ms between them, from an instant on; what the last one came to. */
function send(gatherer: Gatherer, keys: readonly string[], gapMs: number, fromMs = 0): Gathered {
  let last: Gathered = { type: 'unused' };
  keys.forEach((key, at) => {
    last = gatherer.take(key, fromMs + at * gapMs, RULE);
  });
  return last;
}

describe('a burst ended by a suffix is a scan', () => {
  test.each(['Enter', 'Tab'])('ended by %s', (suffix) => {
    expect(send(new Gatherer(), keysOf(SERIAL, suffix), 4)).toEqual({ type: 'scan', text: SERIAL });
  });

  test('as slow as a scanner may be, and no slower', () => {
    expect(send(new Gatherer(), keysOf(SERIAL, 'Enter'), 50).type).toBe('scan');
    expect(send(new Gatherer(), keysOf(SERIAL, 'Enter'), 51)).toEqual({ type: 'typed', text: SERIAL });
  });

  test('what a person began to type before it is not part of it', () => {
    const gatherer = new Gatherer();
    send(gatherer, ['7', '7'], 200);
    expect(send(gatherer, keysOf(SERIAL, 'Enter'), 4, 1500)).toEqual({ type: 'scan', text: SERIAL });
    expect(gatherer.text).toBe('');
  });

  test('a hiccup within it takes nothing off it: half a serial could be another part’s', () => {
    const gatherer = new Gatherer();
    send(gatherer, Array.from(SERIAL.slice(0, 9)), 4);
    expect(send(gatherer, keysOf(SERIAL.slice(9), 'Enter'), 4, 32 + 400)).toEqual({ type: 'scan', text: SERIAL });
  });

  test('two scans one after the other are two', () => {
    const gatherer = new Gatherer();
    expect(send(gatherer, keysOf('AQ1105-A0001', 'Enter'), 3).type).toBe('scan');
    expect(send(gatherer, keysOf('AQ1105-A0002', 'Enter'), 3, 40)).toEqual({ type: 'scan', text: 'AQ1105-A0002' });
  });
});

describe('what a person types', () => {
  test('is shown as it grows, mended by Backspace, ended by Enter', () => {
    const gatherer = new Gatherer();
    expect(send(gatherer, ['A', 'Q', 'X'], 200)).toEqual({ type: 'text', text: 'AQX' });
    expect(gatherer.take('Backspace', 900, RULE)).toEqual({ type: 'text', text: 'AQ' });
    expect(send(gatherer, ['1', 'Enter'], 200, 1200)).toEqual({ type: 'typed', text: 'AQ1' });
  });

  test('goes with Escape', () => {
    const gatherer = new Gatherer();
    send(gatherer, ['A', 'Q'], 200);
    expect(gatherer.take('Escape', 900, RULE)).toEqual({ type: 'text', text: '' });
    expect(gatherer.text).toBe('');
  });
});

describe('keys that are not for a serial are left alone', () => {
  test.each([' ', 'Enter', 'Tab', 'Escape', 'Backspace', 'F2', 'ArrowUp', 'Shift'])('%j', (key) => {
    expect(new Gatherer().take(key, 0, RULE)).toEqual({ type: 'unused' });
  });

  test('a space within a burst starts nothing', () => {
    const gatherer = new Gatherer();
    send(gatherer, ['A', 'Q'], 3);
    expect(gatherer.take(' ', 7, RULE).type).toBe('text');
  });

  test('Shift within a burst changes nothing of it', () => {
    expect(send(new Gatherer(), ['Shift', 'A', 'Shift', 'Q', '1', '1', '0', 'Enter'], 4)).toEqual({
      type: 'scan',
      text: 'AQ110',
    });
  });
});

describe('where no serial is asked for', () => {
  test('a bumped key is forgotten: it stands in the way of neither the space bar nor Escape', () => {
    const gatherer = new Gatherer();
    gatherer.take('x', 0, RULE, false);
    expect(gatherer.take('Escape', 200, RULE, false)).toEqual({ type: 'unused' });
    gatherer.take('x', 1000, RULE, false);
    expect(gatherer.take(' ', 2500, RULE, false)).toEqual({ type: 'unused' });
    expect(gatherer.text).toBe('');
  });

  test('a scan is still one', () => {
    const gatherer = new Gatherer();
    gatherer.take('x', 0, RULE, false);
    expect(send(gatherer, keysOf(SERIAL, 'Enter'), 4, 1200)).toEqual({ type: 'scan', text: SERIAL });
  });
});

test('a space that is scanned is kept: without it it would be another code', () => {
  expect(send(new Gatherer(), keysOf('AQ1 AQ2', 'Enter'), 4)).toEqual({ type: 'scan', text: 'AQ1 AQ2' });
  expect(send(new Gatherer(), keysOf('AQ1 AQ2', 'Enter'), 200)).toEqual({ type: 'typed', text: 'AQ1AQ2' });
});
