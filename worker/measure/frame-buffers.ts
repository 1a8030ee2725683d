/**
 * Large arrays of one frame, kept for the next: fresh ones cost page faults and make the collector run. What they hold at
 * first is what the last frame left there.
 */
export class FrameBuffers {
  private readonly kept = new Map<string, ArrayBuffer>();

  /** @param name tells a frame's arrays apart */
  floats(name: string, length: number): Float32Array {
    return new Float32Array(this.room(name, 4 * length), 0, length);
  }

  bytes(name: string, length: number): Uint8Array {
    return new Uint8Array(this.room(name, length), 0, length);
  }

  private room(name: string, bytes: number): ArrayBuffer {
    let room = this.kept.get(name);
    // Much larger than needed, it would be kept for one frame of many.
    if (room === undefined || room.byteLength < bytes || room.byteLength > 4 * bytes) {
      room = new ArrayBuffer(bytes);
      this.kept.set(name, room);
    }
    return room;
  }
}

const free: FrameBuffers[] = [];

/** Lends buffers to `work`; frames that are measured at the same time get different ones. Nothing of them may be kept. */
export async function withFrameBuffers<T>(work: (buffers: FrameBuffers) => Promise<T>): Promise<T> {
  const buffers = free.pop() ?? new FrameBuffers();
  try {
    return await work(buffers);
  } finally {
    if (free.length === 0) free.push(buffers);
  }
}
