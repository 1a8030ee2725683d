declare module 'parse-prometheus-text-format' {
  export interface Family {
    name: string;
    help: string;
    type: 'GAUGE' | 'COUNTER' | 'HISTOGRAM' | 'SUMMARY' | 'UNTYPED';
    metrics: {
      value?: string;
      labels?: Record<string, string>;
      buckets?: Record<string, string>;
      count?: string;
      sum?: string;
    }[];
  }
  export default function parse(text: string): Family[];
}
