/** The part of s3rver that the tests use; the package brings no types. */
declare module 's3rver' {
  import type { IncomingMessage, Server } from 'node:http';
  import type { Readable } from 'node:stream';

  interface StoredObject {
    bucket: string;
    key: string;
    content: Readable | Buffer;
  }
  interface Store {
    getResourcePath(bucket: string, key: string | undefined, resource: string): string;
    putObject(object: StoredObject): Promise<{ size: number; md5: string }>;
    putPart(bucket: string, uploadId: string, part: number, content: Readable): Promise<{ size: number; md5: string }>;
  }
  interface Context {
    req: IncomingMessage;
    method: string;
    path: string;
    query: Record<string, string>;
    status: number;
  }
  export default class S3rver {
    constructor(options: {
      port: number;
      address: string;
      silent: boolean;
      directory: string;
      configureBuckets: { name: string; configs: string[] }[];
    });
    store: Store;
    middleware: ((context: Context, next: () => Promise<void>) => Promise<void>)[];
    httpServer: Server;
    run(): Promise<{ port: number }>;
    close(): Promise<void>;
  }
}
