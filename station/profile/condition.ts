import { unless } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import type { ConditionId, ProfileContent } from './schema.ts';

/** What is wrong with the temperatures at which a part is tested. */
export function checkConditions({ conditions }: ProfileContent): ContentProblem[] {
  const order: readonly ConditionId[] = ['cold', 'ambient', 'hot'];
  const repeated = conditions.flatMap(({ id }, index) =>
    unless(
      conditions.findIndex((other) => other.id === id) === index,
      'condition-duplicate',
      ['conditions', index],
      `"${id}" stands twice`,
      `each condition once: ${order.join(', ')}`,
    ),
  );
  const missing = unless(
    conditions.some(({ id }) => id === 'ambient'),
    'condition-missing',
    ['conditions'],
    'there is no ambient condition, at which every line cycle is run',
    'ambient: { target: 23 °C, tolerance: 10 K, soak: 0 min }',
  );
  const present = order.flatMap((id) => conditions.filter((condition) => condition.id === id).slice(0, 1));
  const overlaps = present.slice(1).flatMap((warm, index) => {
    const cool = present[index];
    if (cool === undefined) return [];
    const [coolC, warmC] = [cool.targetC + cool.toleranceC, warm.targetC - warm.toleranceC];
    return unless(
      coolC < warmC,
      'conditions-overlap',
      ['conditions', conditions.indexOf(warm)],
      `${warm.id} reaches down to ${warmC} °C and ${cool.id} up to ${coolC} °C`,
      `${warm.id} from above ${coolC} °C`,
    );
  });
  return [...repeated, ...missing, ...overlaps];
}
