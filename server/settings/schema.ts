import { z } from 'zod';
import { StationId } from '../line/contract.ts';

const isZone = (zone: string): boolean => {
  try {
    return new Intl.DateTimeFormat('en', { timeZone: zone }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
};

const Station = z.strictObject({
  station: StationId,
  nests: z.int().min(1).max(16),
  /** Which simulated rig: its volumes and instrument errors. */
  rigSeed: z.int().min(0).max(0xffffffff).default(1),
  /** Ambient pressure of the simulated rig, kPa abs; null draws one. */
  barometerKpaAbs: z.number().min(60).max(110).nullable().default(null),
  chamber: z.boolean().default(false),
  /** How much faster than the wall the simulated rig runs; 1 is as long as a real one takes. */
  pace: z.number().min(1).max(20).default(1),
  /** The same while a chamber is waited for: an hour's soak of a simulated rig need not take one. */
  soakPace: z.number().min(1).max(5000).default(60),
});

/** Everything that can be set, each with what holds when nothing is said. */
export const Settings = z.strictObject({
  plant: z.string().trim().min(1).max(60).default('Alder Quay'),
  /** Folder of the ledger. */
  data: z.string().min(1).default('.barolot'),
  /** Folder of profiles; null is the shipped ones. */
  profiles: z.string().min(1).nullable().default(null),
  listen: z
    .strictObject({
      host: z.string().min(1).default('127.0.0.1'),
      port: z.int().min(0).max(65535).default(8080),
      /** Nobody signs in yet: other machines are let in only when this says so. */
      public: z.boolean().default(false),
    })
    .prefault({}),
  shifts: z
    .strictObject({
      zone: z
        .string()
        .refine(isZone, 'an IANA time zone, as in Europe/Berlin')
        .default(() => new Intl.DateTimeFormat().resolvedOptions().timeZone),
      starts: z
        .array(z.string().regex(/^([01][0-9]|2[0-3]):[0-5][0-9]$/, 'a time of the day, as in 06:00'))
        .min(1)
        .max(24)
        .refine((starts) => new Set(starts).size === starts.length, 'each start once')
        .default(['06:00', '14:00', '22:00']),
    })
    .prefault({}),
  scanner: z
    .strictObject({
      /** Keys that end a scan, by their names in the DOM. The space bar starts a test and can be none of them. */
      suffixes: z
        .array(z.enum(['Enter', 'Tab', 'F13', 'F14', 'F15', 'F16']))
        .min(1)
        .default(['Enter', 'Tab']),
      /** Longest time between two keys of a scanner, ms. */
      gapMs: z.int().min(5).max(500).default(50),
      /** Characters at which a scan is cut into several serials. */
      separators: z
        .string()
        .max(5)
        .regex(/^[^ A-Za-z0-9-]*$/, 'no letters, digits, hyphens or spaces: serials have those')
        .default(''),
    })
    .prefault({}),
  rules: z
    .strictObject({
      /** How often a part that failed may be tested again. */
      retests: z.int().min(0).max(10).default(1),
      /** The same reason so many times running stops a nest. */
      sameReason: z.int().min(2).max(10).default(3),
    })
    .prefault({}),
  lab: z
    .strictObject({
      /** The room's dew point at its highest, °C: what is colder than it gathers water when it comes out. */
      dewPointC: z.number().min(-20).max(30).default(15),
    })
    .prefault({}),
  stations: z
    .array(Station)
    .min(1)
    .max(8)
    .refine((stations) => new Set(stations.map(({ station }) => station)).size === stations.length, 'each name once')
    .prefault([
      { station: 'EOL-1', nests: 2, rigSeed: 1 },
      { station: 'LAB-1', nests: 8, rigSeed: 2, chamber: true },
    ]),
  /** Lets the screens choose what simulated parts and rigs suffer from. */
  demo: z.boolean().default(true),
  log: z.enum(['debug', 'info', 'warn', 'error', 'silent']).default('info'),
});
export type Settings = z.infer<typeof Settings>;

const LOOPBACK = ['127.0.0.1', '::1', 'localhost'];

/** Whether only programs of this machine can reach the server. */
export const isLoopback = ({ listen }: Settings): boolean => LOOPBACK.includes(listen.host);
