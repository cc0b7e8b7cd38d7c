import { z } from 'zod';
import type { ProofName } from '../../station/cycle/proof.ts';
import type { Quantity } from '../../station/cycle/judge.ts';
import type { Verdict, Why } from '../../station/cycle/result.ts';
import type { Facts, Fault } from '../../station/faults.ts';
import { PartNumber } from '../../station/profile/schema.ts';
import type { ConditionId } from '../../station/profile/schema.ts';
import type { PhaseId } from '../../station/profile/plan.ts';
import type { ReasonCode } from '../../station/reasons.ts';
import { LOT_REFUSALS } from '../records/contract.ts';

/**
 * What a line station and its screens say to each other. Nests count from 1, as they are marked on the fixture;
 * pressures are kPa absolute, times of a cycle ms from its opening, instants UTC (ISO 8601).
 */

/** A line that a person wrote: not empty, no control characters. */
export const line = (most: number) =>
  z
    .string()
    .trim()
    .min(1)
    .max(most)
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, 'printable');
const nest = z.int().min(1).max(64);

export const StationId = z.string().regex(/^[A-Z0-9][A-Z0-9-]{0,19}$/, 'capitals, digits and hyphens, at most 20');

/** What a simulated part of the next load suffers from, or a nest that holds another part number's part. */
const DemoPart = z.strictObject({
  nest,
  what: z.string().max(40),
  size: z.number(),
  partNumber: z.string().max(20).nullable(),
});

/** A fault of the simulated rig, at the begin of a phase of the next cycle, or now (`phase` null). */
const DemoFault = z.strictObject({
  what: z.string().max(40),
  size: z.number(),
  nest: nest.nullable(),
  phase: z.string().max(60).nullable(),
});

/** Everything that a person can tell a line station. What cannot be done now is refused with a `RefusalCode`. */
export const LineCommand = z.discriminatedUnion('type', [
  /** Who works here on what; held until changed. Another part number asks for its proofs anew. */
  z.strictObject({ type: z.literal('setup'), operator: line(60), partNumber: PartNumber, lot: line(40) }),
  /** The operator states that the masters read right; kept under the name that is set, until the shift ends. */
  z.strictObject({ type: z.literal('state-masters') }),
  /** Lets the station learn what its nests do with this part number. */
  z.strictObject({ type: z.literal('characterise') }),
  /** What a scanner read, or a person typed, for the nest that is fed. */
  z.strictObject({ type: z.literal('scan'), text: line(200), typed: z.boolean() }),
  /** No part for this nest in this load; again to open it. */
  z.strictObject({ type: z.literal('leave-empty'), nest }),
  /** Forgets the serial of a nest before the start. */
  z.strictObject({ type: z.literal('take-out'), nest }),
  z.strictObject({ type: z.literal('start') }),
  z.strictObject({ type: z.literal('stop') }),
  /** Tests the parts that were not judged again, as they stand in their nests. */
  z.strictObject({ type: z.literal('repeat') }),
  /** The part of this nest is in the reject bin; or, without a nest, the verdicts that were perhaps unseen were read. */
  z.strictObject({ type: z.literal('acknowledge'), cycle: z.string().max(100), nest: nest.nullable() }),
  /** A person looked at a locked nest and says what was found. */
  z.strictObject({ type: z.literal('unlock'), nest, name: line(60), found: line(200) }),
  /** What the next simulated parts and the rig suffer from; replaces what was chosen before. */
  z.strictObject({ type: z.literal('demo'), parts: z.array(DemoPart).max(64), fault: DemoFault.nullable() }),
]);
export type LineCommand = z.infer<typeof LineCommand>;

/** Why a command was not carried out; `facts` of the refusal name serial, nest and whatever the words need. */
export const REFUSALS = [
  'station-away',
  'testing-now',
  'no-work',
  'unknown-part-number',
  'not-testable',
  'proof-due',
  'not-a-serial',
  'other-part-number',
  'already-in-nest',
  'passed-already',
  'retests-used-up',
  'nests-full',
  'reject-first',
  'read-first',
  'nothing-loaded',
  'scan-first',
  'guard-open',
  'nothing-to-repeat',
  'nothing-to-acknowledge',
  'nest-locked',
  'not-locked',
  'no-such-nest',
  'not-a-demo',
  'cannot-simulate',
  'not-kept',
  /** facts `serial`, `station`: the part is being tested there. */
  'in-test-elsewhere',
  ...LOT_REFUSALS,
] as const;
export type RefusalCode = (typeof REFUSALS)[number];

/** What the person does now: one line, and the key that does it. The words stand in the catalogue under the code. */
export const PROMPTS = [
  /** The station's process is being started; it measures before it speaks. */
  'station-starting',
  /** It is gone, and is being started again. */
  'station-lost',
  'choose-work',
  /** The lot in work takes no more parts: it was closed or decided. */
  'lot-over',
  'characterise',
  'characterising',
  'masters-due',
  /** A proof that nobody at the line can give: facts `proof`, `state`. */
  'proof-due',
  /** facts `nest`; the nest that the scanner feeds. */
  'scan',
  /** As `scan`, for a part number without serials: nests are loaded, then started. facts `parts`. */
  'load',
  'close-guard',
  'start',
  /** Hands off: the test runs. */
  'testing',
  'stopping',
  /** facts `nest`, `cycle`. */
  'reject',
  /** Verdicts that were stored and perhaps not seen. facts `cycle`. */
  'read-verdicts',
  /** A fault of the station ended the test; its `next` words say the cure. facts `code`. */
  'fault',
  /** Nests of this load were not judged. facts `nests` (1-based, comma-separated), `code`. */
  'not-judged',
  /** facts `nest`, `reason`, `times`. */
  'nest-locked',
] as const;
export type PromptCode = (typeof PROMPTS)[number];

/** The key of the band, or a quiet one beside it. */
export interface Key {
  readonly command: LineCommand;
  /** Word of the key in the catalogue. */
  readonly code: 'start' | 'stop' | 'repeat' | 'in-the-bin' | 'read' | 'leave-empty' | 'masters-right' | 'characterise';
}

export interface Prompt {
  readonly code: PromptCode;
  readonly facts: Facts;
  /** `act`: a person must do something. `wait`: the station works. */
  readonly tone: 'act' | 'wait';
  /** The one big key; null where the act is another one (scan, close the guard). */
  readonly key: Key | null;
  readonly quiet: Key | null;
}

/** The work of the station: held until changed. */
export interface WorkView {
  readonly operator: string;
  readonly partNumber: string;
  readonly title: string;
  readonly pressureClass: string;
  readonly lot: string;
  readonly revision: number;
  readonly condition: ConditionId;
  /** Regular expression of a whole serial; null for parts without serials. */
  readonly serialPattern: string | null;
  /** What is read in every nest, in order: the rows of the sheet before anything is measured. */
  readonly sheet: readonly SheetRow[];
  /** The phases of the test with the time each is expected to take, and the pressure at its end. */
  readonly phases: readonly ExpectedPhase[];
}

/** `pointKpaAbs`: of an output at a pressure point; null at ambient and for anything else. */
export interface SheetRow {
  readonly step: string;
  readonly quantity: Quantity;
  readonly unit: string;
  readonly oneSided: boolean;
  readonly pointKpaAbs: number | null;
}

/** `kPaAbs` null: ambient. */
export interface ExpectedPhase {
  readonly phase: PhaseId;
  readonly ms: number;
  readonly kPaAbs: number | null;
}

export interface ProofView {
  readonly proof: ProofName;
  readonly state: 'valid' | 'due' | 'failed';
  readonly evidence: string;
  readonly until: string | null;
}

export type Attempt = 'first' | 'retest' | 'repeat';

export interface NestView {
  readonly nest: number;
  /** `open` waits for a part, `loaded` has one, `empty` was left so, `locked` takes none. */
  readonly state: 'open' | 'loaded' | 'empty' | 'locked';
  readonly serial: string | null;
  readonly attempt: Attempt | null;
  readonly typed: boolean;
  /** The next scan belongs to this nest. */
  readonly isFed: boolean;
  readonly lock: { readonly reason: ReasonCode; readonly times: number } | null;
}

/** One reading against its limits, as it was judged. */
export interface ReadingView {
  readonly step: string;
  readonly quantity: Quantity;
  readonly value: number;
  /** Standard uncertainty, same unit. */
  readonly u: number;
  readonly unit: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly guard: number;
  readonly margin: number;
  readonly verdict: 'pass' | 'fail';
  readonly inGuardBand: boolean;
}

/** What became of one nest of the last cycle. */
export interface NestOutcome {
  readonly nest: number;
  readonly serial: string;
  readonly verdict: Verdict;
  readonly why: readonly Why[];
  readonly readings: readonly ReadingView[];
  /** A reject that nobody has put into its bin yet. */
  readonly isWaiting: boolean;
}

/** The last cycle, after its record was kept; nothing of it is shown before. */
export interface OutcomeView {
  readonly cycle: string;
  readonly closedAt: string;
  readonly partNumber: string;
  readonly lot: string;
  readonly nests: readonly NestOutcome[];
  readonly faults: readonly Fault[];
  /** Whether every nest was measured at ambient at the end; null when nothing had been moved. */
  readonly vented: boolean | null;
  readonly tookMs: number;
  /** Where the readings were taken, on the test as it ran. */
  readonly taken: readonly Taken[];
  /** The server was started after this was stored: perhaps nobody saw it. */
  readonly isPerhapsUnseen: boolean;
}

/** A reading of the running test as it came from the instruments: what was measured, not yet judged. */
export interface Taken {
  readonly nest: number;
  readonly step: string;
  readonly atMs: number;
  readonly quantity: 'output' | 'supply-current';
  readonly value: number;
  readonly unit: 'V' | 'mA';
  /** The pressure that was there; null for a current. */
  readonly kPaAbs: number | null;
}

/** The test that runs. */
export interface TestView {
  readonly cycle: string;
  /** One place a nest; null is empty. */
  readonly serials: readonly (string | null)[];
  readonly phase: PhaseId | null;
  readonly phaseFromMs: number;
  readonly taken: readonly Taken[];
  /** Nests that were shut off on the way, with the reason; their verdict comes with the others'. */
  readonly shutOff: readonly number[];
}

/** Parts of line cycles since the shift began: judged ones, and those that were not. */
export interface CountsView {
  readonly since: string;
  readonly tested: number;
  readonly passed: number;
  readonly rejected: number;
  readonly notJudged: number;
  /** Of serials judged for the first time: how many passed then. */
  readonly firstPass: { readonly passed: number; readonly of: number };
  /** Median of the last cycles, from opening to verdict; null before the first. */
  readonly cycleMs: number | null;
  /** Median from verdict to verdict; null before the second. */
  readonly floorToFloorMs: number | null;
}

/** The whole state of a line station: whoever has this knows all that a screen shows, but for what is measured now. */
export interface LineView {
  readonly station: string;
  readonly plant: string;
  readonly origin: 'real' | 'simulated';
  readonly chamber: boolean;
  readonly link: 'starting' | 'up' | 'lost';
  readonly work: WorkView | null;
  readonly proofs: readonly ProofView[];
  readonly nests: readonly NestView[];
  readonly test: TestView | null;
  readonly outcome: OutcomeView | null;
  readonly prompt: Prompt;
  /** The last thing that was refused; gone with the next command that is carried out. */
  readonly refusal: { readonly code: RefusalCode; readonly facts: Facts } | null;
  readonly counts: CountsView;
  readonly scanner: ScannerView;
  readonly demo: DemoView | null;
}

/** How a scanner is told from a person at the keyboard, and a scan cut into serials. */
export interface ScannerView {
  /** Keys that end a scan, by their names in the DOM (`Enter`, `Tab`). */
  readonly suffixes: readonly string[];
  /** Longest time between two keys of a scanner, ms. */
  readonly gapMs: number;
  /** Characters at which a scan is cut into several serials; may be none. */
  readonly separators: string;
}

/** What is chosen for the next load of a simulated station, and a serial that it could have. */
export interface DemoView {
  readonly parts: readonly z.infer<typeof DemoPart>[];
  readonly fault: z.infer<typeof DemoFault> | null;
  readonly nextSerial: string | null;
}

/** What is measured now: ten times a second in a test, twice a second at rest. */
export interface LiveView {
  readonly pressure: {
    readonly state: 'vented' | 'present' | 'unknown';
    /** The highest of manifold and nests; null when an instrument does not answer. */
    readonly kPaAbs: number | null;
    readonly barometerKpaAbs: number | null;
  };
  /** Whether the guard is shut; null when it is not known. */
  readonly guardShut: boolean | null;
  readonly frame: Frame | null;
}

/** One instant of the test as it runs. */
export interface Frame {
  readonly atMs: number;
  readonly kPaAbs: number;
  readonly nests: readonly { readonly kPaAbs: number; readonly outputV: number }[];
}

/** First event of a stream, and again whenever what was missed is not there any more. */
export interface Snapshot {
  readonly view: LineView;
  readonly live: LiveView | null;
  /** The test as it ran so far, or the last one's. */
  readonly frames: readonly Frame[];
}

/** A station in the list of the start page. */
export interface StationView {
  readonly station: string;
  readonly nests: number;
  readonly chamber: boolean;
  readonly origin: 'real' | 'simulated';
  readonly link: LineView['link'];
  readonly prompt: PromptCode;
  readonly partNumber: string | null;
  readonly lot: string | null;
}

/** A part number that work can be set up for. */
export interface PartNumberView {
  readonly partNumber: string;
  readonly title: string;
  readonly pressureClass: string;
  readonly revision: number;
  /** What this station cannot do about it; null when it can be tested here. */
  readonly notTestable: Facts | null;
}

/** What can be simulated. */
export interface DemoChoices {
  readonly parts: readonly DemoChoice[];
  readonly faults: readonly (DemoChoice & { readonly strikesNest: boolean })[];
  readonly partNumbers: readonly string[];
  readonly phases: readonly string[];
}

export interface DemoChoice {
  readonly what: string;
  readonly says: string;
  /** Null where it has no size. */
  readonly unit: string | null;
  readonly from: number;
  readonly to: number;
  /** A size that shows. */
  readonly typical: number;
}
