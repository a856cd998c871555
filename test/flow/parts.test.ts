import { describe } from 'vitest';
import { playKinds } from '../support/parts-evening.ts';

describe('every kind of choice, by touch and by keyboard', () => playKinds('choices'));
