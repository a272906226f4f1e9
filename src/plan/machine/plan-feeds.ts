import type { Plan, PlanFeed } from "../../../shared/plan.ts";

/** The feed of that name; undefined where the plan has none. */
export const plannedFeed = (plan: Plan, feed: string): PlanFeed | undefined =>
  plan.feeds.find((each) => each.feed === feed);

/** All feeds in the order they are energised. */
export const feedsInOrder = (plan: Plan): PlanFeed[] => [...plan.feeds].sort((a, b) => a.order - b.order);

/** Feeds a supply of the bench can switch, in order. */
export const supplyFeeds = (plan: Plan): PlanFeed[] => feedsInOrder(plan).filter((each) => each.supply !== null);
