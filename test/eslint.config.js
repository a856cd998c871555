import js from '@eslint/js';
import globals from 'globals';
import svelte from 'eslint-plugin-svelte';
import ts from 'typescript-eslint';

// Lint finds what the type checker cannot: unused code, forgotten awaits of style, unsafe markup.
export default ts.config(
  { ignores: ['**/node_modules/**', 'web/build/**', 'web/.svelte-kit/**', 'data/**', 'test/.artifacts/**'] },
  js.configs.recommended,
  ...ts.configs.recommended,
  ...svelte.configs.recommended,
  {
    languageOptions: { globals: { ...globals.node, ...globals.browser } },
    rules: {
      '@typescript-eslint/no-explicit-any': 'error',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      'no-undef': 'off',
      eqeqeq: 'error',
    },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser } },
    rules: { 'svelte/no-navigation-without-resolve': 'off' },
  },
  {
    files: ['shared/**/*.ts'],
    languageOptions: { globals: {} },
    rules: {
      // shared runs the same in browser and server, and its random sources and clocks are arguments.
      'no-restricted-imports': [
        'error',
        { patterns: ['node:*', '@oddglass/*', '../../db/*', '../../server/*'] },
      ],
      'no-restricted-properties': [
        'error',
        { object: 'Math', property: 'random', message: 'Pass a random source.' },
        { object: 'Date', property: 'now', message: 'Pass a clock.' },
      ],
    },
  },
);
