import { readProfiles } from '../profiles/folder.ts';
import { problemLine } from '../../station/profile/problem.ts';
import type { Out } from './out.ts';
import { EXIT } from './exit.ts';

/** `barolot check`: reads profile files or folders and says everything that is wrong with them, with its cure. */
export function check(paths: readonly string[], options: { json: boolean }, out: Out): number {
  const read = paths.map((path) => readProfiles(path));
  const revisions = read.flatMap((each) => each.revisions);
  const problems = read.flatMap((each) => each.problems);
  if (options.json) {
    out.json({
      ok: problems.length === 0,
      profiles: revisions.map(({ revision, content, hash }) => ({ partNumber: content.partNumber, revision, hash })),
      problems,
    });
  } else {
    for (const { content, revision, hash } of revisions) {
      out.line(`${content.partNumber}  revision ${revision}  ${hash.slice(0, 8)}  ${content.title}`);
    }
    for (const problem of problems) out.line(problemLine(problem));
    out.line(
      problems.length === 0
        ? `${revisions.length} in order`
        : `${revisions.length} in order, ${problems.length} to mend`,
    );
  }
  return problems.length === 0 ? EXIT.passed : EXIT.failed;
}
