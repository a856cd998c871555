/** This moment by the device's clock, ISO 8601 in UTC. */
export const momentNow = (): string => new Date().toISOString();
