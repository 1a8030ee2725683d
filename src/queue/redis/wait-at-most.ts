/** Waits for the work, but no longer than `ms`, and never throws; the work itself goes on. For what must hold up nobody. */
export async function waitAtMost(ms: number, work: () => Promise<unknown>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const over = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, ms);
  });
  await Promise.race([work().catch(() => undefined), over]);
  clearTimeout(timer);
}
