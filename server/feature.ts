import type {
  FastifyBaseLogger,
  FastifyInstance,
  RawReplyDefaultExpression,
  RawRequestDefaultExpression,
  RawServerDefault,
} from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { Deps } from './deps.ts';

export type App = FastifyInstance<
  RawServerDefault,
  RawRequestDefaultExpression,
  RawReplyDefaultExpression,
  FastifyBaseLogger,
  ZodTypeProvider
>;

export interface FeatureOptions {
  deps: Deps;
  secure: boolean;
  /** As in AppOptions. */
  publicUrl: string | undefined;
}

/** A feature is a plugin of routes; what it needs beyond the app is handed to it. */
export type Feature = (app: App, options: FeatureOptions) => Promise<void>;
