declare module 'virtual:verifier' {
  /** A classic script, as text (vite.config.ts). */
  const script: string;
  export default script;
}
