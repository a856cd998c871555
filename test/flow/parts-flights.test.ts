import { describe } from 'vitest';
import { playKinds } from '../support/parts-evening.ts';

describe('every kind of flight, by touch and by keyboard', () => playKinds('flights'));
