export interface ServerSentEvent {
  event: string;
  data: unknown;
}

/** Reads a stream of events as the standard has it; ends when the service ends it. */
export async function* eventsOf(response: Response): AsyncGenerator<ServerSentEvent> {
  let text = '';
  for await (const chunk of response.body ?? []) {
    text += Buffer.from(chunk as Uint8Array).toString();
    for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
      const fields = new Map(
        text
          .slice(0, end)
          .split('\n')
          .map((line) => line.split(/: (.*)/s, 2) as [string, string]),
      );
      text = text.slice(end + 2);
      const data = fields.get('data');
      if (data !== undefined) yield { event: fields.get('event') ?? '', data: JSON.parse(data) as unknown };
    }
  }
}
