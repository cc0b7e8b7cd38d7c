import * as z from 'zod';

/** What one kind of input of a topic asks for, and how it is answered. */
export interface Calculation {
  /** The value of the topic's selecting key; null when the topic has only this one. */
  readonly kind: string | null;
  /** What the answer is good for, in one or two sentences to a quality engineer. */
  readonly about: string;
  /** Input keys with their texts (`.describe`); the selecting key is part of it. */
  readonly input: z.ZodObject;
  /**
   * What the answer holds: path -> meaning and unit. A path is keys joined by dots; `[]` steps into a list, `<…>` stands
   * for any key. A path also speaks for everything below it.
   */
  readonly outputs: Readonly<Record<string, string>>;
  /** Where the formulas are published. */
  readonly sources: readonly string[];
  /** A small input that works. */
  readonly example: Readonly<Record<string, unknown>>;
  /** Answers a parsed input; throws QualityError for values that the statistic refuses. */
  readonly run: (input: never) => object;
}

/** A subject of `barolot calc`: the kinds of question it answers. */
export interface Topic {
  readonly name: string;
  /** One line for the list. */
  readonly about: string;
  /** The input key that says which calculation is meant (`kind`, `function`); null when there is only one. */
  readonly selectBy: string | null;
  readonly calculations: readonly Calculation[];
}

/** Ties the input's schema to the type that `run` takes. */
export function calculation<S extends z.ZodObject>(
  given: Omit<Calculation, 'input' | 'run'> & { readonly input: S; readonly run: (input: z.infer<S>) => object },
): Calculation {
  return given;
}

/** A list of finite numbers, the commonest input. JSON cannot say NaN; 1e999 is refused as infinite. */
export const numbers = (text: string): z.ZodArray<z.ZodNumber> => z.array(z.number()).describe(text);

/** A limit that may be missing. */
export const limit = (text: string): z.ZodDefault<z.ZodNullable<z.ZodNumber>> =>
  z.number().nullable().default(null).describe(text);
