import { acceptanceTablesTopic } from './acceptance-tables.ts';
import { agreementTopic } from './agreement.ts';
import { capabilityTopic } from './capability.ts';
import { chartConstantsTopic } from './chart-constants.ts';
import { controlChartTopic } from './control-chart.ts';
import { controlRulesTopic } from './control-rules.ts';
import { distributionsTopic } from './distributions.ts';
import { gaugeTopic } from './gauge.ts';
import { normalityTopic } from './normality.ts';
import { provableTopic } from './provable.ts';
import { riskTopic } from './risk.ts';
import { samplingTopic } from './sampling.ts';
import { sensorFitTopic } from './sensor-fit.ts';
import { summaryTopic } from './summary.ts';
import { testFamilyTopic } from './test-family.ts';
import { toleranceTopic } from './tolerance.ts';
import { twoSamplesTopic } from './two-samples.ts';
import type { Topic } from './topic.ts';

/** Every topic of `barolot calc`, in the order of the list. */
export const topics: readonly Topic[] = [
  summaryTopic,
  capabilityTopic,
  provableTopic,
  toleranceTopic,
  normalityTopic,
  testFamilyTopic,
  samplingTopic,
  acceptanceTablesTopic,
  riskTopic,
  agreementTopic,
  twoSamplesTopic,
  sensorFitTopic,
  gaugeTopic,
  controlChartTopic,
  controlRulesTopic,
  chartConstantsTopic,
  distributionsTopic,
];
