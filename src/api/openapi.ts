import {
  OpenAPIRegistry,
  OpenApiGeneratorV31,
  type RouteConfig,
  zodToOpenAPIRegistry,
} from '@asteasolutions/zod-to-openapi';
import type { Router } from 'express';
import { z } from 'zod';
import { CreateShootBody, FrameEvent, FrameReceipt, Problem, ProblemKind, ReadyState, ShootStatus, UploadOutcome } from '../contracts/api.js'; // prettier-ignore
import { ExposureData } from '../contracts/exposure.js';
import { FrameMeasurement } from '../contracts/measurement.js';
import { Person } from '../contracts/people.js';
import { ShootPlan } from '../contracts/plan.js';
import { ReportFrame, Setup, ShootReport } from '../contracts/report.js';
import { ToneResponse } from '../contracts/tone.js';
import { ShootWebhooks, Webhook, WebhookBody } from '../contracts/webhook.js';
import { ERROR_TABLE, type ErrorCode } from '../errors.js';
import { LiftMaskQuery } from './advice.js';
import { resource } from './resource.js';

/** Schemas that stand under a name of their own in the document. */
const NAMED = {
  CreateShootBody,
  ExposureData,
  FrameEvent,
  FrameMeasurement,
  FrameReceipt,
  Person,
  Problem,
  ProblemKind,
  ReadyState,
  ReportFrame,
  Setup,
  ShootPlan,
  ShootReport,
  ShootStatus,
  ToneResponse,
  UploadOutcome,
  ShootWebhooks,
  Webhook,
  WebhookBody,
};

const json = (schema: z.ZodType) => ({ 'application/json': { schema } });
const binary = (type: string) => ({ [type]: { schema: { type: 'string' as const, contentEncoding: 'binary' } } });
const text = (type: string) => ({ [type]: { schema: { type: 'string' as const } } });

const id = z
  .string()
  .regex(/^[0-9a-f]{32}$/)
  .describe('id of the shoot');
const name = z.string().min(1).describe('name of the frame; percent-encoded, at most 255 bytes of UTF-8, no slash');
const wait = z.number().min(0).optional().describe('seconds to hold the answer back until it is there');
const shootParams = z.object({ id });
const frameParams = z.object({ id, name });

/** Answers that every address behind the tokens can give, and those that this one gives besides. */
function problems(...codes: ErrorCode[]): RouteConfig['responses'] {
  const byStatus = new Map<number, ErrorCode[]>();
  const always: ErrorCode[] = ['bad-request', 'unauthorized', 'forbidden', 'not-acceptable', 'method-not-allowed', 'too-many-requests', 'internal', 'shutting-down', 'storage-unavailable']; // prettier-ignore
  for (const code of [...always, ...codes]) {
    const { status } = ERROR_TABLE[code];
    byStatus.set(status, [...(byStatus.get(status) ?? []), code]);
  }
  return Object.fromEntries(
    [...byStatus].map(([status, its]) => [
      String(status),
      { description: its.join(', '), content: { 'application/problem+json': { schema: Problem } } },
    ]),
  );
}

const FRAME_FAILURES = (Object.keys(ERROR_TABLE) as ErrorCode[]).filter((code) => code.startsWith('frame-') && ERROR_TABLE[code].status === 422); // prettier-ignore
const UPLOAD: ErrorCode[] = ['shoot-not-found', 'bad-frame-name', 'frame-name-taken', 'shoot-complete', 'too-many-frames', 'frame-too-large', 'frame-empty', 'upload-aborted', 'unsupported-media-type', 'storage-full']; // prettier-ignore
const MEASURED: ErrorCode[] = ['shoot-not-found', 'bad-frame-name', 'frame-not-found', 'report-not-ready', ...FRAME_FAILURES]; // prettier-ignore

const ROUTES: RouteConfig[] = [
  {
    method: 'post',
    path: '/v1/shoots',
    operationId: 'createShoot',
    summary: 'Create a shoot',
    request: { body: { content: json(CreateShootBody), required: true } },
    responses: {
      201: { description: 'created; Location names it', content: json(ShootStatus) },
      ...problems('bad-plan', 'bad-webhook', 'body-too-large', 'unsupported-media-type'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}',
    operationId: 'getShoot',
    summary: 'State and progress counts',
    request: { params: shootParams },
    responses: { 200: { description: 'as of now', content: json(ShootStatus) }, ...problems('shoot-not-found') },
  },
  {
    method: 'delete',
    path: '/v1/shoots/{id}',
    operationId: 'deleteShoot',
    summary: 'Remove the shoot, its frames and its results',
    request: { params: shootParams },
    responses: { 204: { description: 'gone' }, ...problems('shoot-not-found') },
  },
  {
    method: 'post',
    path: '/v1/shoots/{id}/frames',
    operationId: 'addFrames',
    summary: 'Upload many files; each is taken or refused by itself',
    request: {
      params: shootParams,
      body: {
        required: true,
        content: {
          'multipart/form-data': {
            schema: {
              type: 'object',
              properties: { file: { type: 'array', items: { type: 'string', contentEncoding: 'binary' } } },
            },
          },
        },
      },
    },
    responses: {
      200: { description: 'all were here already', content: json(UploadOutcome) },
      201: { description: 'all are taken', content: json(UploadOutcome) },
      207: { description: 'some are taken, some refused', content: json(UploadOutcome) },
      ...problems(...UPLOAD, 'no-frames'),
    },
  },
  {
    method: 'put',
    path: '/v1/shoots/{id}/frames/{name}',
    operationId: 'putFrame',
    summary: 'Upload one file; safe to repeat',
    description:
      'Once answered, the file is on disk and will be measured. `Content-Digest` or `Repr-Digest` with sha-256 ' +
      '(RFC 9530) is checked when sent.',
    request: { params: frameParams, body: { required: true, content: binary('application/octet-stream') } },
    responses: {
      200: { description: 'the same bytes were here already', content: json(FrameReceipt) },
      201: { description: 'taken', content: json(FrameReceipt) },
      ...problems(...UPLOAD, 'digest-mismatch'),
    },
  },
  {
    method: 'post',
    path: '/v1/shoots/{id}/complete',
    operationId: 'completeShoot',
    summary: 'No more frames will come; safe to repeat',
    request: { params: shootParams },
    responses: { 200: { description: 'complete', content: json(ShootStatus) }, ...problems('shoot-not-found') },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/report',
    operationId: 'getReport',
    summary: 'The report of all frames received so far, once none of them waits to be measured',
    request: { params: shootParams, query: z.object({ wait }) },
    responses: {
      200: { description: 'by Accept', content: { ...json(ShootReport), ...text('text/csv'), ...text('text/html') } },
      304: { description: 'not changed' },
      ...problems('shoot-not-found', 'report-not-ready'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/frames/{name}',
    operationId: 'getMeasurement',
    summary: 'The whole measurement; a frame that could not be measured answers with its failure',
    request: { params: frameParams, query: z.object({ wait }) },
    responses: {
      200: { description: 'measured', content: json(FrameMeasurement) },
      304: { description: 'not changed' },
      ...problems(...MEASURED),
    },
  },
  ...(['preview', 'overlay'] as const).map((picture): RouteConfig => ({
    method: 'get',
    path: `/v1/shoots/{id}/frames/{name}/${picture}`,
    operationId: picture === 'preview' ? 'getPreview' : 'getOverlay',
    summary: picture === 'preview' ? 'The frame, small and upright' : 'The preview with its regions drawn in',
    request: { params: frameParams, query: z.object({ wait }) },
    responses: {
      200: { description: 'picture', content: binary('image/jpeg') },
      304: { description: 'not changed' },
      ...problems(...MEASURED, 'picture-missing'),
    },
  })),
  {
    method: 'get',
    path: '/v1/shoots/{id}/frames/{name}/before-after',
    operationId: 'getBeforeAfter',
    summary:
      'The preview beside itself with the report’s corrections applied in linear light; 404 where it corrects nothing',
    request: { params: frameParams, query: z.object({ wait }) },
    responses: {
      200: { description: 'picture', content: binary('image/jpeg') },
      304: { description: 'not changed' },
      ...problems(...MEASURED, 'no-such-advice', 'picture-missing'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/frames/{name}/lift-mask',
    operationId: 'getLiftMask',
    summary: 'Where a lift of the report applies, at the upright frame’s size; 404 where it lifts no such region',
    description:
      'Grey, without gamma: a pixel over the largest value is the share of the lift, in stops, that it takes.',
    request: { params: frameParams, query: LiftMaskQuery.extend({ wait }) },
    responses: {
      200: { description: 'picture', content: { ...binary('image/png'), ...binary('image/tiff') } },
      304: { description: 'not changed' },
      ...problems(...MEASURED, 'no-such-advice', 'picture-missing'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/frames/{name}/sidecar',
    operationId: 'getSidecar',
    summary: 'What the report says of the frame, as an XMP sidecar (ISO 16684-1)',
    request: { params: frameParams, query: z.object({ wait }) },
    responses: {
      200: {
        description: 'a whole packet; to be merged where a sidecar is there',
        content: text('application/rdf+xml'),
      },
      304: { description: 'not changed' },
      ...problems(...MEASURED, 'no-such-advice'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/events',
    operationId: 'getEvents',
    summary: 'Server-sent events: progress, frame, then ready or gone',
    description:
      '`progress` and `ready` carry a ShootStatus, `frame` a FrameEvent, `gone` the id of a deleted shoot. The state ' +
      'is told whole at the beginning; the stream ends after `ready` or `gone`.',
    request: { params: shootParams },
    responses: {
      200: { description: 'the stream', content: text('text/event-stream') },
      204: { description: 'the reader has seen `ready` already' },
      ...problems('shoot-not-found'),
    },
  },
  {
    method: 'get',
    path: '/v1/shoots/{id}/webhooks',
    operationId: 'getWebhooks',
    summary: 'Where the end of the shoot is told, and how far that is',
    description: 'A webhook is a POST of a WebhookBody with the three headers of Standard Webhooks, at least once.',
    request: { params: shootParams },
    responses: { 200: { description: 'as of now', content: json(ShootWebhooks) }, ...problems('shoot-not-found') },
  },
  {
    method: 'get',
    path: '/healthz',
    operationId: 'getHealth',
    summary: 'The process answers',
    security: [],
    responses: { 200: { description: 'alive', content: json(z.object({ alive: z.boolean() })) } },
  },
  {
    method: 'get',
    path: '/readyz',
    operationId: 'getReadiness',
    summary: 'Frames can be taken and measured, or which part cannot',
    security: [],
    responses: {
      200: { description: 'ready', content: json(ReadyState) },
      503: { description: 'not ready', content: json(ReadyState) },
    },
  },
  {
    method: 'get',
    path: '/metrics',
    operationId: 'getMetrics',
    summary: 'Numbers for monitoring, in the text format of Prometheus; METRICS_TOKEN opens this and nothing else',
    responses: { 200: { description: 'as of now', content: text('text/plain') }, ...problems() },
  },
  {
    method: 'get',
    path: '/problems/{code}',
    operationId: 'getProblemKind',
    summary: 'What the type of a problem means',
    security: [],
    request: { params: z.object({ code: z.string() }) },
    responses: {
      200: { description: 'its entry in the table of problems', content: json(ProblemKind) },
      404: { description: 'not-found', content: { 'application/problem+json': { schema: Problem } } },
    },
  },
  {
    method: 'get',
    path: '/openapi.json',
    operationId: 'getOpenApi',
    summary: 'This document',
    security: [],
    responses: { 200: { description: 'OpenAPI 3.1', content: json(z.record(z.string(), z.unknown())) } },
  },
];

/** The OpenAPI 3.1 document of this API, made from the schemas that check its bodies. */
export function openApiDocument(version: string): object {
  for (const [refId, schema] of Object.entries(NAMED)) {
    // Named by the library's own registry: its method on schemas is missing on those made before it was loaded.
    if (!zodToOpenAPIRegistry.has(schema)) zodToOpenAPIRegistry.add(schema, { _internal: { refId } });
  }
  const registry = new OpenAPIRegistry();
  registry.registerComponent('securitySchemes', 'bearer', {
    type: 'http',
    scheme: 'bearer',
    description:
      'A token of API_TOKENS may do everything; one of STUDIO_TOKENS sees the shoots of its studio only, and may read (GET), send (POST, PUT) or delete as it says.',
  });
  for (const route of ROUTES) registry.registerPath(route);
  // What events carry is the body of no address, so it is added by itself.
  return new OpenApiGeneratorV31([
    ...registry.definitions,
    { type: 'schema', schema: FrameEvent },
    { type: 'schema', schema: WebhookBody },
  ]).generateDocument({
    openapi: '3.1.0',
    info: {
      title: 'stopledger',
      version,
      description: 'Audits exposure and lighting consistency across a photo shoot, in stops of light.',
    },
    servers: [{ url: '/' }],
    security: [{ bearer: [] }, {}],
  });
}

export function openApiRoutes(router: Router, version: string): void {
  let document: string | null = null;
  resource(router, '/openapi.json', {
    get(_request, response) {
      document ??= JSON.stringify(openApiDocument(version));
      response.type('application/json').send(document);
    },
  });
}
