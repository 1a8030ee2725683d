import { once } from 'node:events';
import { readConfig } from '../config.js';
import { startService } from '../main.js';
import type { CommandContext, ExitStatus } from './terminal.js';

/** `stopledger serve`: the service, configured by the environment, until it is told to stop. */
export async function serve(context: CommandContext): Promise<ExitStatus> {
  const service = await startService(readConfig(context.env));
  context.stderr.write(`listening on ${service.url}\n`);
  if (!context.signal.aborted) await once(context.signal, 'abort');
  await service.close();
  return 0;
}
